"""Drive, load, ratio and the train of gears between them."""
