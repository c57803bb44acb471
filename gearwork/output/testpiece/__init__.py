"""The piece that is cut first, and what its readings say."""
