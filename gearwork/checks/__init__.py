"""Will it work: teeth, hubs, shafts, windows, tolerances."""
