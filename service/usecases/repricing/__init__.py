"""Runs that price kept quotes again: what is asked for, how it goes, what came of it."""
