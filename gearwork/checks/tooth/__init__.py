"""What the teeth of a pair do and bear."""
