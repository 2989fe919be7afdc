"""Who is signed in here: address, token and the practice's zone, in a file that nobody else reads."""

from dataclasses import asdict, dataclass

from dispatch.client.errors import SignInNeeded
from dispatch.client.folder import Folder

FILE = "account.json"


@dataclass(frozen=True)
class Account:
    """A member's sign-in on this machine. The token is good until `expires_at`."""

    address: str
    token: str
    expires_at: str
    name: str
    zone: str


def read(folder: Folder) -> Account:
    """Return the account, or ask to sign in."""
    kept = folder.read(FILE)
    if not kept:
        raise SignInNeeded("Sign in first: sign-in --address https://desk.example NAME")
    return Account(**kept)


def write(folder: Folder, account: Account) -> None:
    """Keep the account."""
    folder.write(FILE, asdict(account))


def forget(folder: Folder) -> None:
    """Drop the account; journal and visits stay."""
    folder.drop(FILE)
