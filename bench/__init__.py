"""Tiltbook: the bench logbook of a dental laboratory that surveys casts."""

__version__ = "0.1.0"
