"""Questions about tomorrow: supply, sizing, storm, stick table, loads. Pure functions over site and state."""
