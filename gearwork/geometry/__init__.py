"""Shapes alone: no wood, no files, no pictures."""
