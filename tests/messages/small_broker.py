"""A broker of another make, MQTT 3.1.1 only. In a process of its own, since it leaves tasks open.

Run: python small_broker.py PORT
"""

import asyncio
import logging
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager

READY = b"ready\n"


@contextmanager
def small_broker() -> Iterator[int]:
    """Gives its port."""
    from kept_port import kept_port  # found where tests run, not by this file as a program

    port = kept_port()
    process = subprocess.Popen([sys.executable, __file__, str(port)], stdout=subprocess.PIPE)
    try:
        assert process.stdout is not None
        assert process.stdout.readline() == READY
        yield port
    finally:
        process.kill()
        process.communicate()


async def serve(port: int) -> None:
    from amqtt.broker import Broker

    logging.disable(logging.CRITICAL)
    plugins = {"amqtt.plugins.authentication.AnonymousAuthPlugin": {"allow_anonymous": True}}
    listeners = {"default": {"type": "tcp", "bind": f"127.0.0.1:{port}"}}
    await Broker({"listeners": listeners, "plugins": plugins}).start()
    sys.stdout.buffer.write(READY)
    sys.stdout.buffer.flush()
    await asyncio.Event().wait()


if __name__ == "__main__":
    asyncio.run(serve(int(sys.argv[1])))
