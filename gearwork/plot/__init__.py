"""Pictures for notebooks and papers."""
