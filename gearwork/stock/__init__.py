"""What can be bought or declared, with its tables in data/."""
