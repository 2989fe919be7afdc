"""What every command that runs published instances is asked, refuses and prints alike."""

from pathlib import Path

from django.core.management.base import BaseCommand, CommandError, CommandParser


class PublishedInstances(BaseCommand):
    """Solve the instances of a folder, write each answer to another, print a line for each."""

    requires_system_checks: list[str] = []
    usual_seconds: float
    written: str
    only_words: str

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("folder", metavar="DIR", type=Path, help="the folder with the instances")
        parser.add_argument(
            "--seconds", type=float, default=self.usual_seconds,
            help=f"seconds per instance (default {self.usual_seconds:g})",
        )  # fmt: skip
        parser.add_argument("--workers", type=int, default=1, help="processor cores to use (default 1)")
        parser.add_argument("--seed", type=int, default=1, help="seed of the search (default 1)")
        parser.add_argument("--out", type=Path, required=True, help=f"the folder for the {self.written}")
        parser.add_argument("--only", action="append", default=[], help=f"{self.only_words}; may be repeated")

    def require_folder(self, folder: Path) -> None:
        """Refuse what is not a folder."""
        if not folder.is_dir():
            raise CommandError(f"{folder} is not a folder. Give the folder that holds the instances.")

    def nothing_found(self, folder: Path, only: list[str], suffixes: str = "") -> CommandError:
        """Say that the folder holds nothing, or nothing of the names asked for."""
        named = f" named by {' or '.join(only)}" if only else ""
        return CommandError(f"{folder} holds no instance{named}{suffixes}.")

    def made(self, out: Path) -> Path:
        """Return the folder for the answers, made where it is not there."""
        try:
            out.mkdir(parents=True, exist_ok=True)
        except OSError as error:
            raise CommandError(f"{out} cannot be made a folder: {error.strerror}.") from error
        return out

    def say(self, line: str) -> None:
        """Print a line at once."""
        self.stdout.write(line)
        self.stdout.flush()
