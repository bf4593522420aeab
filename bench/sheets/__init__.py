"""Paper that leaves the lab: the survey sheet."""
