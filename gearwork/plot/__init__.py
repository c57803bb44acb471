"""Pictures for notebooks: each takes axes or makes its own, returns them, shows and saves nothing.

Those that make their own show themselves as the result of a notebook's cell.
"""
