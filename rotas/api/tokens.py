"""Tokens of the API: hashed in the database, expiring, sent as ``Authorization: Token ...``."""

from typing import Any

from drf_spectacular.contrib.knox_auth_token import KnoxTokenScheme
from knox.auth import TokenAuthentication
from rest_framework.exceptions import AuthenticationFailed

LETTERS = frozenset(b"0123456789abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ-_")
LONGEST = 128


class Tokens(TokenAuthentication):
    """Knox's tokens, but a token that cannot be one never reaches the database.

    Knox would fail on bytes that are not UTF-8, and PostgreSQL on a NUL.
    """

    def authenticate_credentials(self, token: bytes) -> Any:
        """Return (member, token row), or refuse."""
        if len(token) > LONGEST or not LETTERS.issuperset(token):
            raise AuthenticationFailed
        return super().authenticate_credentials(token)


class TokensScheme(KnoxTokenScheme):
    """How the schema describes them."""

    target_class = "rotas.api.tokens.Tokens"
    name = "token"
