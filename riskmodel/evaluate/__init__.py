"""Scores and trials: invented books of any size to try the rest on."""

from riskmodel.evaluate.synthetic_book import write_synthetic_book

__all__ = ["write_synthetic_book"]
