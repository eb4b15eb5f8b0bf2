"""The broker asked to let us in, as the daemon asks it: user and password, nothing published."""

import asyncio

from aiomqtt import MqttError

from hostctl.channels.messages.broker import Broker
from hostctl.channels.messages.patience import in_words
from hostctl.config.host import Messages
from hostctl.daemon.broker_check import Found
from hostctl.errors import ConfigError

NAME = "hostctl-doctor"  # not the daemon's, which the broker would put out for it


def login_finding(settings: Messages) -> Found:
    """Whether it does."""
    try:
        asyncio.run(_log_in(settings))
    except MqttError as fault:
        mend = "Make the user and password known to the broker (mosquitto_passwd), or correct them."
        return False, in_words(fault, f"{settings.broker}:{settings.port}"), mend
    except ConfigError as error:
        if isinstance(error.__cause__, PermissionError):  # its owner can: the daemon
            found = "whether it lets the daemon in was not tried: its password is not for this user"
            return True, found, "Try: sudo -u hostctl hostctl doctor --config DIR"
        return False, str(error), ""
    who = f"the user '{settings.user}'" if settings.user else "us without a user"
    return True, f"it lets {who} in", ""


async def _log_in(settings: Messages) -> None:
    async with Broker(settings, NAME).client(lambda _: None):
        pass
