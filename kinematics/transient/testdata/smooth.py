"""Plays shifts with smooth friction, as a check of package transient.

Reads on standard input a JSON list of cases and writes a JSON list of answers.
Nothing is shared with the package but the data of the train: the motions are
found here from the equations of the meshes by singular values, friction is

    T = -C(t) tanh(s / eps)              for friction
    T = K max(0, -s) / eps  (or mirrored) for a one-way clutch

and the equations of motion go to SciPy's stiff integrator.
"""

import json
import sys

import numpy as np
from scipy.integrate import solve_ivp
from scipy.linalg import null_space


def rows(case):
    """The equations of meshes and rigid couplings on all member speeds."""
    n = len(case["inertia"])
    out = []
    for a, b, c, za, zb in case["meshes"]:
        r = np.zeros(n)
        r[a] += za
        r[b] += zb
        r[c] -= za + zb
        out.append(r / (abs(za) + abs(zb)))
    for a, b in case["rigid"]:
        r = np.zeros(n)
        r[a] += 1
        r[b] -= 1
        out.append(r)
    for m in [0] + case["unknown"]:
        r = np.zeros(n)
        r[m] = 1
        out.append(r)
    return np.array(out)


def capacity(e, t):
    done = np.clip((t - e["start"]) / max(e["end"] - e["start"], 1e-12), 0, 1)
    return e["before"] + (e["after"] - e["before"]) * done


def play(case):
    motions = null_space(rows(case), rcond=1e-10)
    inertia = np.array(case["inertia"], dtype=float)
    inertia[case["output"]] += case["vehicle"]
    mass = motions.T @ np.diag(inertia) @ motions
    into, out = motions[case["input"]], motions[case["output"]]
    friction = case["friction"]
    slips = np.array([motions[e["a"]] - motions[e["b"]] for e in friction])
    ways = np.array([motions[e["a"]] - motions[e["b"]] for e in case["one_way"]]).reshape(-1, len(mass))
    eps, k = case["eps"], len(mass)

    def f(t, x):
        q = x[:k]
        s = slips @ q
        torque = -np.array([capacity(e, t) for e in friction]) * np.tanh(s / eps)
        held = case["hold"] * np.maximum(0, -ways @ q) / eps
        w = out @ q
        road = -case["rolling"] * np.tanh(w / eps) - case["drag"] * w * abs(w)
        force = case["torque"] * into + road * out + slips.T @ torque + ways.T @ held
        return np.concatenate([np.linalg.solve(mass, force), -torque * s])

    # The start: the least-squares motion with the speeds that the case gives.
    start = np.array(case["start"], dtype=float)
    known = [i for i in range(len(start)) if i not in case["unknown"]]
    q0 = np.linalg.lstsq(motions[known], start[known], rcond=None)[0]
    assert np.abs(motions[known] @ q0 - start[known]).max() < 1e-8, "the start is no motion of the train"

    times = np.array(case["times"])
    breaks = sorted({0.0, times[-1]} | {e[k] for e in friction for k in ("start", "end") if 0 < e[k] < times[-1]})
    x = np.concatenate([q0, np.zeros(len(friction))])
    states = np.zeros((len(times), len(x)))
    for a, b in zip(breaks, breaks[1:]):
        inside = times[(times >= a) & (times <= b)]
        wanted = np.unique(np.append(inside, b))
        r = solve_ivp(f, (a, b), x, method="Radau", t_eval=wanted, rtol=1e-7, atol=1e-8)
        assert r.success, r.message
        for t, y in zip(r.t, r.y.T):
            states[np.isclose(times, t)] = y
        x = r.y[:, -1]
    return {
        "input": (states[:, :k] @ into).tolist(),
        "output": (states[:, :k] @ out).tolist(),
        "heat": states[:, k:].T.tolist(),
    }


json.dump([play(case) for case in json.load(sys.stdin)], sys.stdout)
