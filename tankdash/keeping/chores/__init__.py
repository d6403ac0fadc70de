"""What is due, late and coming, with its reason and its turns."""
