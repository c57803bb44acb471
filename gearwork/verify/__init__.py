"""Written files read back and turned against each other."""
