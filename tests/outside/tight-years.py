"""Tight years of service, and what an exact solver makes of them: writes tests/published/data/tight_years.json anew.

A Python with `pip install -r tests/outside/solver.txt`; then: tight-years.py SECONDS WORKERS FILE.
"""
import json, random, sys, time

import ortools
from ortools.sat.python import cp_model

# name, seed, districts, periods, shops, room, cap, sizes, noise, early, late, fill
SORTS = [
    ("a", 1, 4, 26, 1, 24, 2, (3, 9), 5, 4, 8, .97),
    ("b", 2, 6, 26, 2, 20, 2, (3, 8), 4, 3, 6, .98),
    ("c", 3, 5, 40, 1, 30, 1, (4, 13), 8, 4, 10, .95),
    ("d", 4, 8, 52, 2, 16, 2, (2, 7), 3, 4, 4, .96),
    ("e", 5, 6, 26, 2, 24, 3, (5, 12), 2, 2, 4, 1.0),
    ("f", 6, 8, 52, 1, 40, 2, (4, 17), 3, 4, 6, .99),
    ("g", 7, 10, 52, 3, 20, 2, (3, 11), 6, 4, 8, .98),
    ("h", 8, 3, 20, 2, 18, 2, (5, 9), 2, 1, 3, 1.0),
    ("i", 9, 6, 30, 3, 21, 3, (4, 11), 1, 2, 3, 1.0),
    ("j", 10, 4, 26, 1, 30, 3, (7, 16), 2, 2, 4, .98),
]

def year(name, seed, D, P, S, room, cap, sizes, noise, early, late, fill):
    r = random.Random(seed)
    away = [[0] * P for _ in range(D)]
    sets = []
    want = fill * P * S * room
    load = [[0] * P for _ in range(S)]
    # Fill shop by shop: the last set of a period takes what is left, where that is a size.
    cells = [(p, s) for p in range(P) for s in range(S)]
    r.shuffle(cells)
    for p, s in cells:
        tries = 0
        while load[s][p] < room and tries < 60:
            tries += 1
            left = room - load[s][p]
            h = r.randint(*sizes)
            if left - h < sizes[0] and left <= sizes[1]:
                h = left
            if h > left or (left - h and left - h < sizes[0]):
                continue
            ds = [d for d in range(D) if away[d][p] < cap]
            if not ds:
                break
            d = r.choice(ds)
            away[d][p] += 1
            load[s][p] += h
            due = min(P - 1, max(0, p + r.randint(-noise, noise)))
            sets.append([d, h, p, due])
    r.shuffle(sets)
    total = sum(h for _, h, _, _ in sets)
    while total > want:
        d, h, p, due = sets.pop()
        total -= h
    out = []
    for d, h, p, due in sets:
        out.append(dict(district=d, hours=h, due=due, earliest=max(0, min(p, due - early)), latest=min(P - 1, max(p, due + late))))
    planted = sum(max(0, p - due) for _, _, p, due in sets)
    return dict(name=name, districts=D, periods=P, cap=cap, shops=S, room=room, sets=out, planted=planted, fill=round(total / (P * S * room), 3))

def solve(y, secs, workers):
    m = cp_model.CpModel()
    P, S, D = y["periods"], y["shops"], y["districts"]
    x = {}
    for i, j in enumerate(y["sets"]):
        for p in range(j["earliest"], j["latest"] + 1):
            for s in range(S):
                x[i, p, s] = m.NewBoolVar("")
        m.AddExactlyOne(x[i, p, s] for p in range(j["earliest"], j["latest"] + 1) for s in range(S))
    for p in range(P):
        for s in range(S):
            m.Add(sum(y["sets"][i]["hours"] * v for (i, q, t), v in x.items() if (q, t) == (p, s)) <= y["room"])
        for d in range(D):
            m.Add(sum(v for (i, q, t), v in x.items() if q == p and y["sets"][i]["district"] == d) <= y["cap"])
    m.Minimize(sum(max(0, p - y["sets"][i]["due"]) * v for (i, p, s), v in x.items()))
    c = cp_model.CpSolver()
    c.parameters.num_workers = workers
    c.parameters.max_time_in_seconds = secs
    t = time.time()
    st = c.Solve(m)
    ok = st in (cp_model.OPTIMAL, cp_model.FEASIBLE)
    return dict(status=c.StatusName(st), lateness=round(c.ObjectiveValue()) if ok else None, bound=round(c.BestObjectiveBound(), 2), seconds=round(time.time() - t, 1))

if __name__ == "__main__":
    seconds, workers, file = float(sys.argv[1]), int(sys.argv[2]), sys.argv[3]
    years = [year(*sort) for sort in SORTS]
    for y in years:
        y["solver"] = solve(y, seconds, workers)
        print(y["name"], len(y["sets"]), "sets, planted", y["planted"], y["solver"], flush=True)
        y["sets"] = [[s["district"], s["hours"], s["earliest"], s["latest"], s["due"]] for s in y["sets"]]
    lines = ",\n".join("  " + json.dumps(y, separators=(",", ":")) for y in years)
    source = (
        "tests/outside/tight-years.py: each year is cut to a plan that was drawn by chance first (its lateness is 'planted'); 'solver' is what "
        f"OR-Tools CP-SAT {ortools.__version__} made of it in {seconds:.0f} s with {workers} workers: a plan's lateness, and a bound that it proved"
    )
    with open(file, "w") as out:
        out.write('{\n "source": ' + json.dumps(source) + ',\n "sets": "district, hours, earliest, latest, due",\n "years": [\n' + lines + "\n ]\n}\n")
