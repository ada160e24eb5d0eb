"""Evenbay: a railing quote service, from taped deck measurements to a priced order."""

__version__ = "0.1.0"
