"""Pages: one for each side of the job, all showing the same state."""
