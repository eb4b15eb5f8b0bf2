"""Where a rising function reaches a goal: over whole numbers, and over real ones."""

from collections.abc import Callable

from hostctl.metrology.basis.distributions import normal_quantile, probit
from hostctl.metrology.basis.estimate import NotEnough
from hostctl.metrology.basis.reason import Reason, Why


def fewest(enough: Callable[[int], bool], *, least: int, most: int = 2**40) -> int:
    """The smallest whole n from `least` to `most` that is enough, where more is never too many.

    Raises NotEnough when even `most` isn't.
    """
    low, high = least - 1, least
    while not enough(high):
        if high >= most:
            raise NotEnough(Reason(Why.MORE_THAN, most=most))
        low, high = high, min(2 * high, most)
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if enough(middle) else (middle, high)
    return high


def solve_rising(reached: Callable[[float], float], goal: float, guess: float) -> float:
    """The k with reached(k) = goal, for a rising function; secant on probits, kept in a bracket."""
    wanted = normal_quantile(goal)

    def miss(k: float) -> float:
        return probit(reached(k), least=1e-15) - wanted

    low = high = guess
    step = 0.02 * abs(guess) + 0.01
    while (below := miss(low)) > 0:
        low, step = low - step, 2 * step
    while (above := miss(high)) < 0:
        high, step = high + step, 2 * step
    return close_in(miss, low, below, high, above)


def crossing(
    miss: Callable[[float], float], low: float, high: float, *, step: float, within: float
) -> float:
    """Where a rising `miss` is 0, looked for from halfway on, by steps that grow fourfold.

    low where it is not below 0 even there, high where it is not above.  within: as of `close_in`.
    """
    near = 0.5 * (low + high)
    missed = miss(near)
    up = missed < 0.0
    while True:
        far = min(near + step, high) if up else max(near - step, low)
        beyond = miss(far)
        if (beyond >= 0.0) == up:
            break
        if far in (low, high):
            return far
        near, missed, step = far, beyond, 4.0 * step
    if up:
        return close_in(miss, near, missed, far, beyond, within=within)
    return close_in(miss, far, beyond, near, missed, within=within)


def close_in(
    miss: Callable[[float], float],
    low: float,
    below: float,
    high: float,
    above: float,
    *,
    within: float = 1e-13,
) -> float:
    """Where `miss`, not positive at `low` nor negative at `high`, is 0.

    below, above: its values there.  within: how close is close enough, relative.  Illinois rule:
    secant steps that halve the stale end's weight.
    """
    side = 0
    while high - low > within * max(abs(low), abs(high), 0.01) and below < 0 < above:
        k = (low * above - high * below) / (above - below)
        k = k if low < k < high else (low + high) / 2
        here = miss(k)
        if here < 0:
            low, below, above, side = k, here, above / 2 if side < 0 else above, -1
        else:
            high, above, below, side = k, here, below / 2 if side > 0 else below, 1
        if abs(here) < within:
            return k
    return low if below == 0 else high
