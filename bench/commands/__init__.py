"""Commands of the bench PC beside serving: letting tablets in, and keeping and moving the records."""
