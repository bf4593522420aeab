"""What travels between tablets, benches and the log: pairing, signatures, the one intake, reads."""
