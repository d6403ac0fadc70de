"""The one error of the water floor."""


class OutOfRange(ValueError):
    """A number lies outside what the thing asked about can be; clamping is the caller's decision."""
