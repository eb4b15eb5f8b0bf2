"""Which key, beside those of numbers, does what on a USB key, number pad or presenter.

Numbers are the kernel's input event codes (Linux UAPI, input-event-codes.h).
"""

from hostctl.news import Word

BACKSPACE, DELETE = 14, 111
SPACE, PAGE_DOWN, RIGHT, DOWN = 57, 109, 106, 108
ESCAPE, PAGE_UP, LEFT, UP = 1, 104, 105, 103
KEYPAD_STAR, KEYPAD_SLASH = 55, 98
BUTTON_0, BUTTON_1 = 0x100, 0x101  # what a gpio-keys device often sends

ERASES = frozenset({BACKSPACE, DELETE})
WORDS: dict[int, Word] = {
    **dict.fromkeys((SPACE, PAGE_DOWN, RIGHT, DOWN, BUTTON_0), Word.DONE),
    **dict.fromkeys((ESCAPE, PAGE_UP, LEFT, UP, BUTTON_1), Word.HOLD),
    KEYPAD_STAR: Word.REDO,
    KEYPAD_SLASH: Word.SKIP,
}
