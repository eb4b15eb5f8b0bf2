"""Numbers of a bed map stand next to their own dots, and nothing outside its frame."""

import re
from math import hypot

import pytest

from hostctl.report.figures.bed.bed_map import BedMap
from hostctl.report.figures.bed.map_marks import EDGE_PX, GAPS_PX, Paper, UPRIGHT_FIRST
from hostctl.report.figures.bed.plan import Outline, ScrewSpot, Spot
from hostctl.report.figures.pen.lettering import width_px
