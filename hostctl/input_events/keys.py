"""Which key is which sign of a number, on keyboards and number pads.

Numbers are the kernel's input event codes (Linux UAPI, input-event-codes.h).
"""

ENTER, KEYPAD_ENTER = 28, 96

DIGITS: dict[int, str] = {
    **{2 + index: digit for index, digit in enumerate("1234567890")},
    **{71: "7", 72: "8", 73: "9", 75: "4", 76: "5", 77: "6", 79: "1", 80: "2", 81: "3", 82: "0"},
    **{12: "-", 74: "-", 52: ".", 51: ".", 83: ".", 121: "."},
}
"""With minus, and the decimal point for the comma too."""
ENTERS = frozenset({ENTER, KEYPAD_ENTER})
