"""The web process of the demo, on a listening socket that the supervisor holds.

The port stays ours while this process is started anew, and callers wait instead of being refused.
"""

import socket
import sys

import uvicorn

GRACE_S = 3  # seconds open live updates get at a stop; without a limit they would hold it for ever


def serve(listener: socket.socket) -> None:
    """Serve the site on the socket until a signal stops it."""
    config = uvicorn.Config(
        "dispatch.asgi:application",
        lifespan="off",
        ws="none",
        log_config=None,
        access_log=False,
        timeout_graceful_shutdown=GRACE_S,
    )
    uvicorn.Server(config).run(sockets=[listener])


if __name__ == "__main__":
    serve(socket.socket(fileno=int(sys.argv[1])))
