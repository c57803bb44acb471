"""Shapes: involute, gear, pair, the tooth as cut, outlines. No wood, no files, no plots."""
