"""The screen: the Textual app, its pages, forms and widgets."""
