"""The journal: what was read, used, changed and done, in SQLite, only ever added to."""
