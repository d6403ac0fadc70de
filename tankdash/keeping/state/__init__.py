"""What is in the tanks at any time, by replay of the journal."""
