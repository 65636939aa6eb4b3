"""Checks certificates with fractions alone, as package kinematics/certify describes them.

It reads a list of {"rows", "loaded", "certificate"} from standard input, and prints
"proved" or "refused: why" for each. Written from that description, not from the Go code.
"""
import json
import sys
from fractions import Fraction

# What a motion may make of a row, and what a multiplier of it may be in a proof.
MOVES = {"=": lambda s: s == 0, ">=": lambda s: s >= 0, "<=": lambda s: s <= 0, "friction": lambda s: True}
PROVES = {"=": lambda x: True, ">=": lambda x: x >= 0, "<=": lambda x: x <= 0, "friction": lambda x: x == 0}


def form(numbers):
    return {m: Fraction(x) for m, x in (numbers or {}).items()}


def of(f, motion):
    return sum(x * motion.get(m, 0) for m, x in f.items())


def cancel(terms):
    return not any(sum(x * f.get(m, 0) for x, f in terms) for m in {m for _, f in terms for m in f})


def sign(x):
    return (x > 0) - (x < 0)


def admits(rows, motion):
    assert all(MOVES[r["sense"]](of(r["form"], motion)) for r in rows.values()), "a row forbids a motion"


def check_slice(rows, s, motions):
    given = [(form(g), Fraction(v)) for g, v in zip(s["given"] or [], s["is"] or [])]
    parts, without, quantity = s.get("parts"), s.get("without") or [], form(s.get("quantity"))
    only = lambda parts: {n: r for n, r in rows.items() if n.startswith("mesh ") or n in sum(parts, [])}
    own = rows if parts is None else only(parts)

    def bound(e, quantity):
        x, at = form(e.get("rows")), [Fraction(a) for a in e.get("at", [])]
        assert all(PROVES[own[n]["sense"]](x[n]) for n in x), "a row proves nothing of that sign"
        proof = [(x[n], own[n]["form"]) for n in x] + [(-a, g) for a, (g, _) in zip(at, given)]
        assert cancel(proof + [(-1, quantity)]), "the rows do not add up"
        return -sum(a * v for a, (_, v) in zip(at, given))

    def starts(motion, times=1):
        assert all(of(g, motion) == times * v for g, v in given), "a motion is not as given"

    def end(e, quantity):
        starts(motions[e["motion"]])
        if "ray" in e:
            ray = motions[e["ray"]]
            starts(ray, 0)
            cost = sum(r["capacity"] * abs(of(r["form"], ray)) for r in own.values() if s.get("costs"))
            assert "value" not in e and of(quantity, ray) + cost < 0, "a ray goes elsewhere"
        else:
            least, value = of(quantity, motions[e["motion"]]), of(form(s.get("quantity")), motions[e["motion"]])
            proved = bound(e, quantity) == least and value == Fraction(e["value"])
            assert proved and not s.get("costs"), "a value is not proved, or not reached"

    if "empty" in s:
        assert bound(s["empty"], {}) > 0, "nothing is contradicted"
        assert len(without) == len(parts or []), "a motion is missing"
        for i, m in enumerate(map(form, without)):
            admits(only(parts[:i] + parts[i + 1 :]), m)
            starts(m)
    else:
        end(s["min"], quantity)
        if not s.get("costs"):
            end(s["max"], {m: -x for m, x in quantity.items()})


def check_balance(rows, b, motions):
    x, at = form(b["rows"]), motions[b["motion"]]
    for n in x:
        held = abs(x[n]) <= rows[n]["capacity"] if rows[n]["sense"] == "friction" else PROVES[rows[n]["sense"]](x[n])
        assert held, n + " cannot carry that"
    way = {n: ("form", "Forth", "Back")[sign(x[n] * of(rows[n]["Rolls"], at))] for n in x}
    assert cancel([(1, form(b["outside"]))] + [(x[n], rows[n][way[n]]) for n in x]), "no equilibrium"
    for n, r in rows.items():
        slip = of(r["form"], at)
        assert x.get(n, 0) * slip == -r["capacity"] * abs(slip), n + " slips against another torque"
    loaded = {n: rows[n]["form"] for n in x} | {"": {b.get("unknown", ""): 1}}
    for n in loaded if b.get("alone") else []:
        assert all(of(f, form(b["alone"][n])) == (o == n) for o, f in loaded.items()), n + " does not move alone"


def check(case):
    read = lambda r: {k: v if k == "sense" else Fraction(v) if k == "capacity" else form(v) for k, v in r.items()}
    rows, loaded = ({n: read(r) for n, r in case[kind].items()} for kind in ("rows", "loaded"))
    motions = [form(m) for m in case["certificate"].get("motions", [])]
    for m in motions:
        admits(rows, m)
    for s in case["certificate"].get("slices", []):
        check_slice(rows, s, motions)
    for b in case["certificate"].get("balances", []):
        check_balance(loaded, b, motions)


for case in json.load(sys.stdin):
    try:
        check(case)
        print("proved")
    except (AssertionError, KeyError, ValueError, IndexError, TypeError, ZeroDivisionError) as why:
        print("refused:", repr(why))
