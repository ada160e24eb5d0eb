"""Prices, taxes and the lines of a quote."""
