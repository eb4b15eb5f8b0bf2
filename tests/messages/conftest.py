"""The same contract on a real mosquitto (MQTT 3.1.1 and 5) and on a small broker (3.1.1)."""

import sys
from collections.abc import AsyncIterator, Iterator
from pathlib import Path

import pytest

TESTS = Path(__file__).parent.parent
sys.path[:0] = [str(TESTS), str(TESTS / "messages")]

from at_the_station import AtTheStation, Phone, phone_at, station_served, until  # noqa: E402
from real_broker import RealBroker, real_broker  # noqa: E402
from shipped_broker import ShippedBroker  # noqa: E402
from small_broker import small_broker  # noqa: E402 - all found through the path set above

from hostctl.config.host import Messages  # noqa: E402

EITHER = [
    pytest.param(("mosquitto", "3.1.1"), id="mosquitto-3.1.1", marks=pytest.mark.broker),
    pytest.param(("mosquitto", "5"), id="mosquitto-5", marks=pytest.mark.broker),
    pytest.param(("small", "3.1.1"), id="small-3.1.1"),
]


@pytest.fixture
def broker(tmp_path: Path) -> Iterator[RealBroker]:
    """A real mosquitto."""
    with real_broker(tmp_path) as running:
        yield running


@pytest.fixture(params=EITHER)
def settings(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Messages]:
    """Settings for a broker that runs."""
    which, protocol = request.param
    if which == "small":
        with small_broker() as port:
            yield Messages(broker="127.0.0.1", port=port)
    else:
        with real_broker(tmp_path) as running:
            yield Messages(broker="127.0.0.1", port=running.port, protocol=protocol)


@pytest.fixture
async def phone(settings: Messages) -> AsyncIterator[Phone]:
    """Somebody else at that broker, there before the station, so that it hears all it says."""
    async with phone_at(settings.port) as looking:
        yield looking


@pytest.fixture
async def at(settings: Messages, phone: Phone, tmp_path: Path) -> AsyncIterator[AtTheStation]:
    """A station served at that broker, once it is connected and reads what is sent to it."""
    async with station_served(tmp_path, settings) as served:
        await until(lambda: bool(phone.said("event")))
        yield served


@pytest.fixture(scope="module")
def shipped(tmp_path_factory: pytest.TempPathFactory) -> Iterator[ShippedBroker]:
    here = tmp_path_factory.mktemp("broker")
    made = ShippedBroker(here / "hostctl")
    made.broker.start()
    yield made
    made.broker.kill()
