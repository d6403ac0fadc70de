"""Pictures as rows of (text, role): the side view, the timeline, axes. Numbers in, characters out."""
