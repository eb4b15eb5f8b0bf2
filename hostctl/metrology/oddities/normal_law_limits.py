"""Limits of the check of the normal law, and how often it notices what. Made by
`python -m hostctl.metrology.oddities.normal_law_simulation`, seed 20261128; don't edit.

LIMITS: by degrees of freedom, most skewness, most kurtosis, least scatter within heaps.
NOTICED: by settings in one block, the share of studies in which a law is noticed; sigma
3 graduations, heaps of like size and the outlier six of the rest's deviations off.
"""

LIMITS: dict[str, dict[int, tuple[float, float, float]]] = {
    "one block": {
        7: (3.109, 4.19, 0.048),
        8: (3.064, 4.042, 0.061),
        9: (3.314, 4.748, 0.071),
        11: (3.302, 5.066, 0.094),
        14: (3.414, 5.031, 0.119),
        19: (3.322, 5.324, 0.152),
        29: (3.358, 4.851, 0.189),
        49: (3.316, 4.467, 0.228),
        99: (3.365, 4.189, 0.265),
        199: (3.156, 3.995, 0.295),
        499: (3.265, 4.048, 0.296),
    },
    "several blocks": {
        7: (3.142, 4.446, 0.063),
        8: (3.162, 5.612, 0.075),
        9: (3.209, 4.261, 0.084),
        11: (3.333, 4.482, 0.103),
        14: (3.414, 4.885, 0.125),
        19: (3.331, 5.383, 0.157),
        29: (3.372, 4.979, 0.191),
        49: (3.377, 4.779, 0.23),
        99: (3.267, 4.409, 0.268),
        199: (3.453, 4.681, 0.295),
        499: (3.44, 4.659, 0.295),
    },
    "differences": {
        7: (2.827, 4.164, 0.044),
        8: (3.162, 5.612, 0.06),
        9: (2.958, 5.24, 0.073),
        11: (2.935, 5.376, 0.089),
        14: (3.059, 5.446, 0.117),
        19: (3.017, 5.589, 0.148),
        29: (3.11, 5.805, 0.186),
        49: (3.164, 5.578, 0.225),
        99: (3.169, 5.67, 0.266),
        199: (3.43, 5.103, 0.292),
        499: (3.509, 5.645, 0.32),
    },
}

NOTICED: dict[int, dict[str, float]] = {
    8: {
        "normal": 0.004,
        "t5": 0.011,
        "exponential": 0.063,
        "two heaps": 0.227,
        "one outlier": 0.223,
    },
    12: {
        "normal": 0.005,
        "t5": 0.032,
        "exponential": 0.141,
        "two heaps": 0.56,
        "one outlier": 0.553,
    },
    20: {
        "normal": 0.006,
        "t5": 0.07,
        "exponential": 0.315,
        "two heaps": 0.942,
        "one outlier": 0.79,
    },
    40: {
        "normal": 0.005,
        "t5": 0.167,
        "exponential": 0.707,
        "two heaps": 1.0,
        "one outlier": 0.908,
    },
    60: {
        "normal": 0.006,
        "t5": 0.253,
        "exponential": 0.921,
        "two heaps": 1.0,
        "one outlier": 0.923,
    },
    100: {
        "normal": 0.005,
        "t5": 0.398,
        "exponential": 0.997,
        "two heaps": 1.0,
        "one outlier": 0.927,
    },
}
