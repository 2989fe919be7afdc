"""A line to any service that Apprise knows. The address holds `{to}`, and `{key}` where it can carry one.

Apprise says yes or no and not why, so that a no may be a time-out: what goes this way is sent at
least once, and twice only if the service took it and the answer was lost.
"""

from urllib.parse import quote

from rotas.channels.outcome import Letter, Taken, Trouble


class Service:
    """One service by its Apprise address."""

    def __init__(self, address: str, timeout_s: float) -> None:
        self._address = address
        self._timeout_s = timeout_s

    def hand_over(self, letter: Letter) -> Taken | Trouble:
        """Let Apprise send the letter's short form."""
        import apprise  # here, for it loads a hundred services, which the web process never needs

        plugin = apprise.Apprise.instantiate(addressed(self._address, letter), suppress_exceptions=True)
        if plugin is None:
            return Trouble("The service's address in the settings cannot be used.", final=True)
        plugin.socket_connect_timeout = min(self._timeout_s, 5)
        plugin.socket_read_timeout = self._timeout_s
        sender = apprise.Apprise()
        sender.add(plugin)
        if bool(sender.notify(body=letter.text, title=letter.subject)):
            return Taken()
        return Trouble("The service said no, or did not answer in time.", perhaps_taken=True)

    def close(self) -> None:
        """Nothing stays open between two letters."""


def addressed(address: str, letter: Letter) -> str:
    """Return the service's address with the receiver and the key put in."""
    to, key = quote(letter.address, safe="+"), quote(letter.key, safe="")
    return address.replace("{to}", to).replace("{key}", key)
