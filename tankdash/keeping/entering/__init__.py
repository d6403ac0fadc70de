"""From typed words to records of the journal."""
