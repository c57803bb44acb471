"""What holds a gear on its rod."""
