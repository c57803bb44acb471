"""What can be bought: plywood, router bits, rods, nuts, bearings."""
