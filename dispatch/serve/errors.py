"""What stops the demo or the test services, as a sentence that says what to do."""


class ServeError(Exception):
    """Something the person at the terminal can put right; the text is for them."""
