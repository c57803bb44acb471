"""Will it work: verdicts on mesh, strength, fixing, shaft, cut files."""
