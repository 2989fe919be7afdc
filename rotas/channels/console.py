"""A line that prints, for trying the site out without any gateway."""

import sys

from rotas.channels.outcome import Letter, Taken


class Console:
    """Prints every text to the standard output."""

    def hand_over(self, letter: Letter) -> Taken:
        """Print the letter's short form."""
        sys.stdout.write(f"Text to {letter.name} {letter.address}: {letter.text}\n")
        sys.stdout.flush()
        return Taken()

    def close(self) -> None:
        """Nothing is open."""
