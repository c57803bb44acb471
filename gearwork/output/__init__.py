"""What leaves for the workshop: cut files, drawings, papers."""
