"""Trains found by trying them."""
