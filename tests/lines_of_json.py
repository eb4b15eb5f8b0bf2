"""Lines that a program may send us by mistake or in malice: any bytes, and objects almost right."""

import json
from collections.abc import Sequence

from hypothesis import strategies as st


def any_bytes() -> st.SearchStrategy[bytes]:
    """Bytes, and text that JSON is made of."""
    return st.binary() | st.text('{}[]:,"\\u019eE+-.truefalsnN ', max_size=60).map(str.encode)


def objects(keys: Sequence[str], words: Sequence[str]) -> st.SearchStrategy[bytes]:
    """Objects with these keys or any other, and with these words or anything else in them."""
    values = st.recursive(
        st.none()
        | st.booleans()
        | st.sampled_from(words)
        | st.text()
        | st.integers()
        | st.integers(min_value=10**18, max_value=10**400)
        | st.floats(),
        lambda inside: (
            st.lists(inside, max_size=3) | st.dictionaries(st.text(), inside, max_size=3)
        ),
        max_leaves=4,
    )
    names = st.sampled_from(keys) | st.text(st.characters(), max_size=60)
    known = st.fixed_dictionaries({keys[0]: st.sampled_from(words)})
    whole = st.dictionaries(names, values, max_size=4)
    return (whole | st.builds(lambda one, more: more | one, known, whole)).map(
        lambda said: json.dumps(said).encode()
    )
