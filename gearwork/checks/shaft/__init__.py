"""What rods and bearings bear, and what their bending does to a mesh."""
