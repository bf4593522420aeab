"""What `scripts/measure` measures: one module a row or a few, each with `rows(bench)`."""
