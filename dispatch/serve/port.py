"""The address the demo listens on; a port that is taken gives way to the next free one."""

import http.client
import socket

from dispatch.serve.errors import ServeError

DEFAULT_PORT = 8000
TRIED = 50


def listen(host: str, wanted: int) -> socket.socket:
    """Return a listening socket on the wanted port, or on the first free one after it."""
    family = socket.getaddrinfo(host, wanted, type=socket.SOCK_STREAM)[0][0]
    for port in [*range(wanted, min(wanted + TRIED, 65535)), 0]:
        listener = socket.socket(family)
        listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            listener.bind((host, port))
            listener.listen(256)
        except OSError as problem:
            listener.close()
            refused = problem
        else:
            return listener
    raise refused


def reached_at(listener: socket.socket) -> tuple[str, int]:
    """Return the host and port by which this machine reaches the socket."""
    host, port = listener.getsockname()[:2]
    return {"0.0.0.0": "127.0.0.1", "::": "::1"}.get(host, host), port


def address(listener: socket.socket) -> str:
    """Return what to type into a browser on this machine."""
    host, port = reached_at(listener)
    return f"http://[{host}]:{port}/" if ":" in host else f"http://{host}:{port}/"


def answers(listener: socket.socket) -> bool:
    """Tell whether the site behind the socket serves a page; an error page is no answer, and final."""
    connection = http.client.HTTPConnection(*reached_at(listener), timeout=20)
    try:
        connection.request("GET", "/")
        status = connection.getresponse().status
    except (OSError, http.client.HTTPException):
        return False
    finally:
        connection.close()
    if status >= 500:
        raise ServeError(f"The site answers its first page with {status}; the reason is in its log.")
    return True
