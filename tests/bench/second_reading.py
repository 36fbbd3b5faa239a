"""
Compares the program with the second reading of the rules on as many generated records as asked for:

    python tests/bench/second_reading.py --records 1000 [--first 0] [--show 5]

A record is one cylinder. Prints how many entries were compared, and of each rule that differs the first difference,
shrunk. Exit status 1 where there is one.
"""

import argparse
import sys
from collections import Counter
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from outside.generated_records import make_cylinders, some_day
from outside.two_readings import differences, shown

TOGETHER = 50  # cylinders that are written into one folder and judged in one run


def main():
    arguments = argparse.ArgumentParser(description=__doc__.split("\n\n")[0])
    arguments.add_argument("--records", type=int, default=1000)
    arguments.add_argument("--first", type=int, default=0, help="the first seed")
    arguments.add_argument("--show", type=int, default=1, help="differences to show of each rule")
    asked = arguments.parse_args()
    entries = records = 0
    by_rule = Counter()
    for seed in range(asked.first, asked.first + -(-asked.records // TOGETHER)):
        today = some_day(seed)
        cylinders = make_cylinders(seed, min(TOGETHER, asked.records - records), today)
        records += len(cylinders)
        entries += sum(len(cylinder["entries"]) for cylinder in cylinders)
        named = {cylinder["name"]: cylinder for cylinder in cylinders}
        for difference in differences(cylinders, today):
            kind = (difference.rule, difference.program)
            by_rule[kind] += 1
            if by_rule[kind] <= asked.show:
                print(f"seed {seed}: {shown(named[difference.cylinder], today, difference)}", flush=True)
    print(f"{records} records, {entries} entries, {sum(by_rule.values())} differences")
    for (rule, program), count in by_rule.most_common():
        print(f"  {count:5}  {rule}: the program {'says it' if program else 'does not'}")
    return 1 if by_rule else 0


if __name__ == "__main__":
    sys.exit(main())
