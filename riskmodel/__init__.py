"""Failure risk of the wet systems of small craft: tables in, lives, item risk, then the order to spend in."""

__version__ = "0.1.0"
