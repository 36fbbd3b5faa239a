"""
The units of quantities.
"""

# Quantity terminal of words.lark -> its units, the usual ones first.
UNITS = {
    "PRESSURE": ("psi", "bar", "MPa", "kPa"),
    "TEMPERATURE": ("F", "C"),
    "VOLUME": ("L", "mL", "cc", "in3", "ft3", "m3"),
    "DURATION": ("min", "s", "h"),
    "SHARE": ("%",),
    "PPM": ("ppm",),
    "DENSITY": ("mg/m3",),
}
