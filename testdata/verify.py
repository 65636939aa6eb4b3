"""Checks certificates with fractions alone, as package kinematics/certify describes them.

It reads a list of {"rows", "loaded", "certificate"} from standard input, and prints
"proved" or "refused: why" for each. Written from that description, not from the Go code.
"""
import json
import sys
from fractions import Fraction


def form(f):
    return {m: Fraction(x) for m, x in (f or {}).items()}


def of(f, motion):
    return sum(x * motion.get(m, 0) for m, x in f.items())


def add(total, factor, f):
    for m, x in f.items():
        total[m] = total.get(m, 0) + factor * x


def admits(rows, motion):
    for name, (f, sense, *_) in rows.items():
        s = of(f, motion)
        assert {"=": s == 0, ">=": s >= 0, "<=": s <= 0, "friction": True}[sense], name + " forbids a motion"


def carries(row, x, balance):
    fits = {"=": True, ">=": x >= 0, "<=": x <= 0, "friction": balance and abs(x) <= row[2]}
    assert x == 0 or fits[row[1]], "a row cannot carry that"


def bound(rows, s, e, quantity):
    total, at, low = {}, [Fraction(a) for a in e.get("at", [])], 0
    add(total, -1, quantity)
    for name, x in form(e.get("rows")).items():
        carries(rows[name], x, False)
        add(total, x, rows[name][0])
    for a, g, v in zip(at, s["given"] or [], s["is"] or []):
        add(total, -a, form(g))
        low -= a * Fraction(v)
    assert not any(total.values()), "the rows do not add up"
    return low


def start(s, motion, rest=False):
    for g, v in zip(s["given"] or [], s["is"] or []):
        assert of(form(g), motion) == (0 if rest else Fraction(v)), "a motion is not as given"


def end(rows, s, e, motions, quantity):
    start(s, motions[e["motion"]])
    if "ray" in e:
        ray = motions[e["ray"]]
        start(s, ray, rest=True)
        cost = sum(row[2] * abs(of(row[0], ray)) for row in rows.values()) if s.get("costs") else 0
        assert "value" not in e and of(quantity, ray) + cost < 0, "a ray goes elsewhere"
        return
    low, value = bound(rows, s, e, quantity), of(form(s.get("quantity")), motions[e["motion"]])
    assert low == of(quantity, motions[e["motion"]]) and value == Fraction(e["value"]) and not s.get("costs"), "not proved"


def check_slice(rows, s, motions):
    some = lambda parts: {n: r for n, r in rows.items() if n.startswith("mesh ") or n in sum(parts, [])}
    if s.get("parts"):
        assert len(s["without"]) == len(s["parts"]), "a motion is missing"
        for i, m in enumerate(s["without"]):
            admits(some(s["parts"][:i] + s["parts"][i + 1 :]), form(m))
            start(s, form(m))
        rows = some(s["parts"])
    if "empty" in s:
        assert bound(rows, s, s["empty"], {}) > 0, "nothing is contradicted"
        return
    quantity = form(s.get("quantity"))
    end(rows, s, s["min"], motions, quantity)
    if not s.get("costs"):
        end(rows, s, s["max"], motions, {m: -x for m, x in quantity.items()})


def check_balance(rows, b, motions):
    total, x, at = form(b["outside"]), form(b["rows"]), motions[b["motion"]]
    loaded = {n: rows[n][0] for n in x} | {"": {b.get("unknown", ""): 1}}
    for name in x:
        carries(rows[name], x[name], True)
        rolls = x[name] * of(rows[name][3], at)
        add(total, x[name], rows[name][0 if rolls == 0 else 4 if rolls > 0 else 5])
    assert not any(total.values()), "no equilibrium"
    for name, row in rows.items():
        slip = of(row[0], at)
        assert x.get(name, 0) * slip == -row[2] * abs(slip), name + " slips against another torque"
    for name in loaded if b.get("alone") else []:
        moved = {other: of(f, form(b["alone"][name])) for other, f in loaded.items()}
        assert all(v == (other == name) for other, v in moved.items()), name + " does not move alone"


def check(case):
    read = lambda rows: {n: (form(r["form"]), r["sense"], Fraction(r["capacity"]), form(r["Rolls"]), form(r["Forth"]),
                             form(r["Back"])) for n, r in rows.items()}
    c, rows = case["certificate"], read(case["rows"])
    motions = [form(m) for m in c.get("motions", [])]
    for m in motions:
        admits(rows, m)
    for s in c.get("slices", []):
        check_slice(rows, s, motions)
    for b in c.get("balances", []):
        check_balance(read(case["loaded"]), b, motions)


for case in json.load(sys.stdin):
    try:
        check(case)
        print("proved")
    except (AssertionError, KeyError, ValueError, IndexError, TypeError, ZeroDivisionError) as why:
        print("refused:", repr(why))
