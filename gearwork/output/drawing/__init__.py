"""Drawings as plain lines, circles and measures."""
