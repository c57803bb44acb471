"""Pictures for notebooks: each shows itself as the result of a cell, and saves nothing.

Gears are SVG; graphs are returned as axes of a figure of their own, in our look.
"""
