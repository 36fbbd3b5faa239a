"""A small record for the commands of the working day."""

AS_OF = "2026-11-25"
RECORD = """\
department "Pinewater, Fire; Department"
  rules  us-dot
  rules  practice
  rules  air
site quay "Quay Street"
site hill "Hill Road"
person ash "Ash"
  fills  2010-01-01
tester Z999 "Tests"
source C1 "Air room"
  kind       compressor
  cartridge  67000 ft3
  at         quay
  2026-09-10  air sample pass
  2026-02-01  cartridge changed
cylinder K-9
  serial  00123
  class   carbon-wrapped
  rated   4500 psi
  made    2012-02
  2012-08-02  entered service  at quay
  2022-01-20  hydro pass  by Z999  visual pass
cylinder K-10
  serial  "=1+1"
  class   carbon-wrapped
  rated   4500 psi
  made    2019-06
  tag     AA10
  2019-08-02  entered service  at hill
  2021-03-20  hydro pass  by Z999
cylinder 114
  class   dot-3aa
  rated   2216 psi
  made    2010-01
  2010-02-01  entered service  at quay
  2025-01-20  hydro pass  by Z999  plus
cylinder S-2
  class   dot-3aa
  rated   2216 psi
  made    2010-01
  2010-02-01  entered service  at quay
  2026-01-20  out of service "valve"
cylinder S-3
  rated   2216 psi
  2010-02-01  entered service
cylinder R-1
  class   dot-3al
  rated   2216 psi
  made    2001-01
  2001-02-01  entered service  at hill
  2020-01-20  retired
fill sheet 2026-03-01  at quay  on C1  by ash
  08:00  K-9  from 500 psi  to 4500 psi  at 70 F
  08:20  114  to 2216 psi
"""
