"""A record of two cylinders under a house pack of its own: one card is good, one has a finding of danger."""

PACK = """\
pack house "The house"
  reference  70 F
class steel "Plain steel"
  test-every  5 years
  life        none
setting soon  90 days
rule past-test  danger
  on       filled
  when     day > test-due
  why      "A cylinder past its test is not filled. Not at all."
  say      "filled {day - test-due} after its test fell due"
  working  "due by {test-due}"
  cite     "Statute 1"
  breaks
    cylinder T-1
      class  steel
      made   2010-01
      2015-02-01  filled  to 2015 psi      # here
  keeps
    cylinder T-1
      class  steel
      made   2010-01
      2015-01-31  filled  to 2015 psi
rule due-soon  notice
  on    status
  when  in-service and days-to-test >= 0 days and days-to-test <= soon
  say   "test falls due in {days-to-test}"
"""
DEPARTMENT = (
    'department "Larkspur Valley"\n  zone   America/Boise\n  rules  "house.cylpack"\nperson vance "Ada Vance"\n'
)
GOOD = """\
cylinder K-1
  class  steel
  rated  2216 psi
  made   2024-01
  tag    E200
  2024-02-01  entered service
"""
BAD = """\
cylinder K-2
  class  steel
  rated  2216 psi
  made   2016-01
  2016-02-01  entered service
  2026-03-04  filled  to 2216 psi  by vance
"""
