"""Solvers behind the cutting port."""
