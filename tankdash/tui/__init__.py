"""The screen: the Textual app, its pages, forms and widgets."""

import os

# What follows from a key waits for the next frame: with 120 a second half as long as with the toolkit's 60. Nothing
# is painted when nothing changed. It is read when textual is first imported, which is below here.
os.environ.setdefault("TEXTUAL_FPS", "120")
