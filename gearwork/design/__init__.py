"""Choosing: drive and load, train, search, the design file."""
