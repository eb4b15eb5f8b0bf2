"""A free port of this computer, kept free until a test's server listens on it."""

import socket


def kept_port() -> int:
    """Nobody who asks for any port is given this one; whoever names it may listen on it.

    A port that is looked up and let go may be another process's before the server binds it. So
    the socket that found it stays bound, without listening, until this process ends. Linux lets a
    server bind beside it where both have set SO_REUSEADDR, as servers do.
    """
    with socket.socket() as keeper:
        keeper.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        keeper.bind(("127.0.0.1", 0))
        port = int(keeper.getsockname()[1])
        keeper.detach()
    return port
