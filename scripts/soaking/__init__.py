"""Long runs that try to break a bench; none of them is a test."""
