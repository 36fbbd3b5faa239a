"""
A small record, and the map of an export, for the tests of intake.
"""

RECORD = """\
department "Pinewater Fire Department"
  zone   America/Denver
  rules  us-dot
site quay "Quay Street"
site hill "Hill Road"
person ash "Rowan Ash"
person birch "Lee Birch"
source C1 "Compressor"
  kind  compressor
cylinder K-7
  serial  "P 0007"
  tag     00A7
  tag     E2007
cylinder K-8
  serial  0008
  tag     E2008
cylinder 114
  serial  P-114
  tag     E2114
fill sheet 2026-03-01  at quay  on C1  by ash
  08:00  K-7  to 4500 psi
  09:00  K-8  to 4500 psi  struck 2026-03-01 by ash "never happened"
  114  to 2216 psi
"""
COLUMNS = {
    "day": {"column": "Day", "form": "year-month-day"},
    "time": {"column": "Time", "form": "hour:minute"},
    "cylinder": {"column": "Cylinder", "by": "name"},
    "to": {"column": "End", "unit": "psi"},
}
