"""The store: the log of entries in one SQLite file, and what is read from it."""
