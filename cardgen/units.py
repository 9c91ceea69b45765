"""Exact factors between the trade's units and SI.

Multiply by a factor to come into SI, divide to leave it: ``17 * MPH_MPS`` is a speed in m/s.
The inch, foot, mile and pound are exact by the international yard and pound agreement of 1959
(NIST SP 811, appendix B.8).
"""

import math

INCH_M = 0.0254
FOOT_M = 12 * INCH_M
MPH_MPS = 5280 * FOOT_M / 3600
KMH_MPS = 1000 / 3600
MICROMETRE_M = 1e-6
MILLILITRE_M3 = 1e-6
POUND_KG = 0.45359237
RPM_RADPS = 2 * math.pi / 60
DEGREE_RAD = math.pi / 180
POINT_MM = 25.4 / 72  # the PDF point, ISO 32000-1, 8.3.2.3

STANDARD_GRAVITY_MPS2 = 9.80665  # CGPM 1901, resolution 3 of the 3rd meeting
