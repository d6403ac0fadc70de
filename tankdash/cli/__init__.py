"""The command line: every command of the tool, as text for people and JSON for programs."""
