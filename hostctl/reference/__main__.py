"""Makes the lists in the reference anew, after a change of a model: python -m hostctl.reference"""

from hostctl.config.find import REFERENCE
from hostctl.reference.parts import made_anew

if __name__ == "__main__":
    for file in sorted(REFERENCE.glob("*.md")):
        file.write_text(made_anew(file.read_text()))
