"""Lines asked of the kernel. The library for it is an optional extra, loaded here and not before;
`GpioLines` is all we need of it, and the only thing tests replace."""

from hostctl.errors import ConfigError
from hostctl.gpio.lines import GpioLines, WantedLines


def kernel_lines(wanted: WantedLines) -> GpioLines:
    """Ask the kernel for the lines. Raises ConfigError when the library or the line is missing."""
    try:
        from hostctl.gpio.kernel_lines import KernelLines
    except ImportError as cause:
        raise ConfigError(
            wanted.where,
            "a GPIO line needs the gpiod library, version 2",
            f"Install printer-hostctl[gpio]{wanted.instead}.",
        ) from cause
    return KernelLines(wanted)
