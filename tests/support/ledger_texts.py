"""
Ledger texts for tests: records as a careful hand and a careless one would write them, and mere heaps of words.
"""

from hypothesis import strategies as st

NAMES = st.sampled_from(["K-1", "K-20", "114", "K-300417", "A123", "B/7.x"])
DAYS = st.sampled_from(["2026-03-14", "2026-03-15", "2024-02-29", "2025-12-31"])
MONTHS = st.sampled_from(["2026-03", "2031-12"])
TIMES = st.sampled_from(["09:42", "23:59:10", "00:00"])
TEXTS = st.sampled_from(
    ['"valve leaks"', '"a \\"b\\" \\\\ # no comment"', '""', '"Ärger, 3 %"', '"' + "long " * 20 + '"']
)
PRESSURES = st.sampled_from(["4500 psi", "4500psi", "310 bar", "31.0MPa", "900 \t psi"])
TEMPERATURES = st.sampled_from(["88 F", "88°F", "-5 °C", "20\tC"])
VOLUMES = st.sampled_from(["92.1 cc", "6.8 L", "1.8mL"])
BLANKS = st.sampled_from([" ", "  ", "\t", "   "])
COMMENTS = st.sampled_from(["#", "# said by hand", "#x  ", "#\ttab", "## K-1 filled to 4500 psi"])
NEWLINES = st.sampled_from(["\n", "\r\n"])

SIGNED = st.builds("{} by {} {}".format, DAYS, NAMES, TEXTS)
TAIL = {"remark": st.builds("remark {}".format, TEXTS), "struck": st.builds("struck {}".format, SIGNED),
        "late": st.builds("late {}".format, SIGNED)}  # fmt: skip
BY, ON, SITE = (st.builds((word + " {}").format, NAMES) for word in ("by", "on", "at"))
TEMPERATURE = st.builds("at {}".format, TEMPERATURES)
FILLING = {"to": st.builds("to {}".format, PRESSURES), "from": st.builds("from {}".format, PRESSURES), "t": TEMPERATURE,
           "over": st.sampled_from(["over 6 min", "over 90 s"]), "by": BY, "on": ON, "at": SITE, **TAIL}  # fmt: skip
TESTING = {"by": BY, "p": st.builds("at {}".format, PRESSURES), "total": st.builds("total {}".format, VOLUMES),
           "permanent": st.builds("permanent {}".format, VOLUMES), "plus": st.just("plus"), "star": st.just("star"),
           "visual": st.sampled_from(["visual pass", "visual  fail"]), "at": SITE, **TAIL}  # fmt: skip
INSPECTING = {"by": BY, "at": SITE, **TAIL}
GAUGING = {"t": TEMPERATURE, "by": BY, "at": SITE, **TAIL}
SAMPLE = {"co": st.just("CO 1.2ppm"), "o2": st.just("O2 20.9%"), "odor": st.just("odor none"), "by": BY,
          "dew": st.just("dew point -40 F"), "water": st.just("water 12 ppm"), "text": TEXTS, **TAIL}  # fmt: skip
OUTCOMES = st.sampled_from(["pass", "fail"])


@st.composite
def some_clauses(draw, clauses, needed=()):
    """Some of the clauses, those needed among them, in any order."""
    chosen = draw(st.sets(st.sampled_from(sorted(clauses)), max_size=4)) | set(needed)
    return [draw(clauses[name]) for name in draw(st.permutations(sorted(chosen)))]


@st.composite
def acts(draw, who="", on_source=False):
    """Verb, name and clauses, as a list of pieces."""
    gap = f" {who}" if who else ""
    kinds = [
        (f"filled{gap}", some_clauses(FILLING, ["to"])),
        (f"out of service{gap}", some_clauses({"text": TEXTS, "by": BY, **TAIL}, ["text"])),
        (f"remarked{gap}", some_clauses({"text": TEXTS, "by": BY, **TAIL}, ["text"])),
    ]
    if on_source:
        kinds.append((f"air sample{gap} {draw(OUTCOMES)}", some_clauses(SAMPLE)))
        kinds.append((f"cartridge changed{gap}", some_clauses({"by": BY, **TAIL})))
    else:
        kinds.append((f"gauged{gap} {draw(PRESSURES)}", some_clauses(GAUGING)))
        kinds.append((f"visual{gap} {draw(OUTCOMES)}", some_clauses(INSPECTING)))
        kinds.append((f"hydro{gap} {draw(OUTCOMES)}", some_clauses(TESTING)))
        kinds.append((f"entered service{gap}", some_clauses({"at": SITE, "by": BY, **TAIL})))
        kinds.append(
            (
                f"life extended{gap}",
                some_clauses({"u": st.just("until 2031-12"), "text": TEXTS, "by": BY}, "u text".split()),
            )
        )
    verb, clauses = draw(st.sampled_from(kinds))
    return [verb, *draw(clauses)]


@st.composite
def spaced(draw, pieces, further_in="      ", may_break=True):
    """Pieces put on one line or several, with blanks and now and then a comment."""
    text = ""
    for number, piece in enumerate(pieces):
        if number:
            begins_clause = piece.split()[0] in ("remark", "struck", "late", "by", "to", "from", "over")
            if may_break and begins_clause and draw(st.integers(0, 5)) == 0:
                text += draw(st.sampled_from(["", "  ", "  # inside", "\n", "\n  # between"])) + "\n" + further_in
            else:
                text += draw(BLANKS)
        text += piece
    return text + draw(st.sampled_from(["", "", "", "  ", " # after", "#close"]))


@st.composite
def blocks(draw):
    """A block with its lines, or a loose line."""
    kind = draw(
        st.sampled_from(
            ["cylinder", "source", "person", "department", "fill", "visual", "hydro", "gauge", "loose", "waived"]
        )
    )
    indent = draw(st.sampled_from(["  ", "    ", "\t", " "]))
    pieces: list[list[str]] = []
    if kind == "cylinder":
        header = [f"cylinder {draw(NAMES)}"]
        pieces += draw(st.lists(st.sampled_from([["serial", "NC-1"], ["marked", '"DOT-3AA4500"'], ["holds", "6.8 L"], ["life", "15 years"],
                                                 ["made", "2019-06"], ["expansion-limit", "10 %"], ["tag", "E2"]]), max_size=4))  # fmt: skip
        for _ in range(draw(st.integers(0, 4))):
            pieces.append([draw(DAYS), *draw(st.lists(TIMES, max_size=1)), *draw(acts())])
    elif kind == "source":
        header = ["source C1", '"Air room"']
        pieces += draw(
            st.lists(st.sampled_from([["kind", "compressor"], ["rated", "6000psi"], ["at", "st1"]]), max_size=3)
        )
        for _ in range(draw(st.integers(0, 3))):
            pieces.append([draw(DAYS), *draw(st.lists(TIMES, max_size=1)), *draw(acts(on_source=True))])
    elif kind == "person":
        header = ["person ayla", draw(TEXTS)]
        pieces += draw(
            st.lists(
                st.sampled_from([["fills", "2021-05-03", "until", "2027-05-31"], ["inspects", "2021-05-03"]]),
                max_size=3,
            )
        )
    elif kind == "department":
        header = ["department", draw(TEXTS)]
        pieces += [["zone", "America/Denver"], ["rules", "us-dot"]]
    elif kind == "loose":
        header = [draw(DAYS), *draw(st.lists(TIMES, max_size=1)), *draw(acts(who=draw(NAMES)))]
    elif kind == "waived":
        header = ["waived", "some-rule", "for", draw(NAMES), "until", draw(DAYS), "by", draw(NAMES), draw(TEXTS)]
    else:
        clauses = {"fill": FILLING, "visual": INSPECTING, "hydro": TESTING, "gauge": GAUGING}[kind]
        first = {"fill": [], "visual": ["pass"], "hydro": ["condemned"], "gauge": ["4200psi"]}[kind]
        header = [f"{kind} sheet {draw(DAYS)}", *draw(some_clauses(INSPECTING))]
        for _ in range(draw(st.integers(0, 5))):
            row = draw(some_clauses(clauses, ["to"] if kind == "fill" else []))
            pieces.append([*draw(st.lists(TIMES, max_size=1)), draw(NAMES), *first, *row])
    lines = [draw(spaced(header))]
    for line in pieces:
        lines.append(indent + draw(spaced(line, further_in=indent + draw(st.sampled_from([" ", "  ", "\t"])))))
        lines += draw(
            st.lists(st.sampled_from(["", "  ", "# in the margin", "    # further in", "\t# tab"]), max_size=1)
        )
    for _ in range(draw(st.sampled_from([0, 0, 0, 1, 2]))):
        lines.insert(draw(st.integers(1, len(lines))), draw(st.sampled_from(DAMAGED)))
    return "\n".join(lines)


DAMAGED = [
    "  2026-02-30 remarked \"no such day\"", "  09:42 K-1 fild to 4500 psi", "\tto 4500 psi", "    from 900 psi", "  \"open", "bad header",
    "  2026-03-14 filled from 900 psi", "        at st1", " K-1 to 80 F", "<<<<<<< ours", "=======", ">>>>>>> theirs",
    "  serial A\u202eB", "  2026-03-14 filled to 1 psi to 2 psi", "      remark \"whose?\"", "  \u00a0x",
]  # fmt: skip


@st.composite
def ledgers(draw):
    """A ledger as somebody might have written it, with damage and without."""
    gaps = st.sampled_from(["\n", "\n\n", "\n\n\n", "\n# alone\n", "\n \t\n"])
    text = draw(st.sampled_from(["", "\n\n", "# top\n\n"]))
    for block in draw(st.lists(blocks(), max_size=5)):
        text += block + draw(gaps)
    text = draw(st.sampled_from([text, text.rstrip("\n"), text + "\n\n"]))
    return text.replace("\n", draw(NEWLINES))


@st.composite
def heaps(draw):
    """Words of the language and others, in lines of any form."""
    words = st.one_of(
        NAMES, DAYS, MONTHS, TIMES, TEXTS, PRESSURES, TEMPERATURES, VOLUMES, COMMENTS, NEWLINES, NEWLINES, NEWLINES,
        st.sampled_from("cylinder source fill sheet visual hydro pass filled to from at by on remark struck late remarked K-1 12 C".split()),
        st.sampled_from(["\n  ", "\n      ", "\r\n\t", "\r", "\ufeff", "\x1b", '"', "°", ",", "<<<<<<< x\n", "department"]),
        st.text(max_size=3),
    )  # fmt: skip
    return "".join(word + draw(st.sampled_from(["", " ", " "])) for word in draw(st.lists(words, max_size=30)))
