"""The papers of a machine."""
