"""The pure rooms: standard library and itself only; no clock, no randomness, no input or output."""
