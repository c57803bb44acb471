"""Finite elements in a plane; loaded only when asked for."""
