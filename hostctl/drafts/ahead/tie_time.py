"""How long the machine is busy with one observation of a tie: a first estimate."""

from hostctl.drafts.ahead.machine_time import Ways, setting_s


def tie_machine_s(ways: Ways) -> float:
    """As long as two settings."""
    return 2 * setting_s(ways)
