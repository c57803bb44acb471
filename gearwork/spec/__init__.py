"""The design file, and the machine it leads to."""
