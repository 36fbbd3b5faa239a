"""The files of a small record to enter things into."""

from support import house_record

DEPARTMENT = """\
department "Larch Hollow Fire"
  zone    America/Denver
  rules   "house.cylpack"

site quay "Station 1"
site pier "Station 2"
person ayla "Ayla Brandt"
person ben "Ben Tiller"
tester A123 "Northgate Requalification"
source C1 "Air room"
  kind       compressor
"""
CARDS = """\
cylinder T-1
  class      steel
  made       2024-01
  tag        E200341
  2024-02-01        entered service  at quay

cylinder T-2
  class      steel
  made       2020-01
  2020-02-01        entered service  at quay
"""
SHEETS = """\
# Fills.
fill sheet 2026-03-14  at quay  on C1  by ayla
  09:42  T-1     from 900 psi   to 4500 psi  at 85 F
"""
# The pack of the house, and a rule of what is read.
PACK = (
    house_record.PACK
    + """\
rule burst  danger
  on       gauged
  when     reading > 6000 psi
  why      "It is over its test pressure."
  say      "gauged at {reading}"
  cite     "Statute 2"
  breaks
    cylinder X-1
      class  steel
      2015-02-01  gauged 6100 psi  # here
  keeps
    cylinder X-1
      class  steel
      2015-02-01  gauged 6000 psi
"""
)
