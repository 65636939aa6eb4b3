"""Checks certificates with fractions alone, as package kinematics/certify describes them.

It reads a list of {"rows": ..., "certificate": ...} from standard input, and prints
"refused: why" or "proved" for each. Written from that description, not from the Go code.
"""
import json
import sys
from fractions import Fraction


def form(f):
    return {m: Fraction(x) for m, x in (f or {}).items() if m != "housing"}


def value(f, motion):
    return sum(x * motion.get(m, 0) for m, x in f.items())


def add(total, factor, f):
    for m, x in f.items():
        total[m] = total.get(m, 0) + factor * x


def check(rows, cert):
    couplings, meshes = rows["couplings"], [form(m) for m in rows["meshes"]]
    motions, ahead = [form(m) for m in cert.get("motions", [])], rows["forward"]

    def slip(name):
        f = {}
        add(f, 1, form({couplings[name]["a"]: 1}))
        add(f, -1, form({couplings[name]["b"]: 1}))
        return f

    def admits(motion, only=None):
        assert all(value(m, motion) == 0 for m in meshes), "a mesh forbids a motion"
        for name, c in couplings.items():
            s = value(slip(name), motion)
            free = {"open": True, "friction": True, "locked": s == 0, "one-way": s >= 0, "reversed": s <= 0}
            assert only is not None and name not in only or free[c["mode"]], name + " forbids a motion"

    def total(proof, only=None, friction=False):
        f = {}
        for i, x in proof.get("meshes", {}).items():
            assert 0 <= int(i) < len(meshes), "no such mesh"
            add(f, Fraction(x), meshes[int(i)])
        for name, x in proof.get("couplings", {}).items():
            x, mode = Fraction(x), couplings[name]["mode"]
            ok = {"open": x == 0, "locked": True, "one-way": x >= 0, "reversed": x <= 0}.get(mode, x == 0)
            if mode == "friction" and friction:
                ok = abs(x) <= Fraction(couplings[name]["capacity"])
            assert ok and (only is None or name in only), name + " cannot carry that"
            add(f, x, slip(name))
        return f

    def bound(proof, forms, values, quantity, only=None):
        f, at = total(proof, only), [Fraction(a) for a in proof.get("at", [])]
        assert len(at) == len(forms), "a multiplier is missing"
        add(f, -1, quantity)
        for a, g in zip(at, forms):
            add(f, -a, g)
        assert not any(f.values()), "the rows do not add up"
        return -sum(a * v for a, v in zip(at, values))

    def given(s):
        i, o = rows["input"], rows["output"]
        table = {"pull": ({i: 1}, 1, {o: ahead}), "coast.forward": ({o: ahead}, 1, {i: 1}),
                 "coast.backward": ({o: -ahead}, 1, {i: 1}), "rest": ({i: 1}, 0, {o: ahead}),
                 "input_backward": ({i: -1}, 1, {})}
        if s["field"] in table:
            f, v, q = table[s["field"]]
            return [f], [v], q
        values = [Fraction(x) for x in s["given"]]
        return [{i: 1}, {o: 1}][: len(values)], values, form({s["field"].removeprefix("members."): 1})

    def end(e, forms, values, quantity, sense, turn=1):
        at = motions[e["motion"]]
        assert all(value(f, at) == v for f, v in zip(forms, values)), "a motion is not as given"
        quantity = {m: sense * x for m, x in quantity.items()}
        if "value" not in e:
            ray = motions[e["ray"]]
            assert all(value(f, ray) == 0 for f in forms) and value(quantity, ray) < 0, "a ray goes elsewhere"
            return
        p, v = e["proof"], sense * Fraction(e["value"])
        times = lambda d: {k: turn * Fraction(x) for k, x in d.items()}
        p = {"meshes": times(p.get("meshes", {})), "couplings": times(p.get("couplings", {})),
             "at": [turn * Fraction(a) for a in p.get("at", [])]}
        assert bound(p, forms, values, quantity) == v == value(quantity, at), "a value is not proved"

    for m in motions:
        admits(m)
    for s in cert.get("slices", []):
        forms, values, quantity = given(s)
        if "empty" in s:
            assert bound(s["empty"], forms, values, {}) > 0, "nothing is contradicted"
            continue
        end(s["min"], forms, values, quantity, 1)
        end(s.get("max", s["min"]), forms, values, quantity, -1, 1 if "max" in s else -1)
    for c in cert.get("conflicts", []):
        forms, values, _ = given(c)
        assert bound(c["proof"], forms, values, {}, sum(c["parts"], [])) > 0, "no conflict"
        assert len(c["without"]) == len(c["parts"]), "a motion is missing"
        for i, m in enumerate(c["without"]):
            admits(form(m), sum(c["parts"][:i] + c["parts"][i + 1 :], []))
            assert value(forms[0], form(m)) == values[0], "a motion is not as asked"
    for b in cert.get("balances", []):
        f, outside, motion = total(b["proof"], friction=True), form(b["outside"]), motions[b["motion"]]
        add(f, 1, outside)
        cost = sum(Fraction(c["capacity"]) * abs(value(slip(n), motion)) for n, c in couplings.items()
                   if c["mode"] == "friction" and (n != "resistance" or n in b["proof"]["couplings"]))
        assert not any(f.values()) and cost == value(outside, motion), "no equilibrium at that cost"


for pair in json.load(sys.stdin):
    try:
        check(pair["rows"], pair["certificate"])
        print("proved")
    except (AssertionError, KeyError, ValueError, IndexError, TypeError, ZeroDivisionError) as why:
        print("refused:", repr(why))
