"""Plans days of swaps with the solver HiGHS and prints the best of each: weight reached, moves, minutes.

Reads a list of days as JSON on standard input. Rigs, donors, groups, zones and districts are named by their place in their list.
The model is the plain one: which mend each rig gets, which donor goes for which want, which zones are reached. The three aims are
solved one after the other, each held by the next.
"""

import json
import os
import sys

import highspy


def kept_home(day):
    """Donors that a short district keeps: what a mend rests on that can be made from the district's own donors."""
    kept = set()
    for rig in day["rigs"]:
        district = rig["district"]
        if rig["full"] or district is None or not day["short"][district]:
            continue
        for mend in rig["mends"]:
            own = [[d for d, _ in want if day["donors"][d]["district"] == district] for want in mend["wants"]]
            if own and has_pairing(own):
                kept.update(mend["rests_on"])
    return kept


def has_pairing(wants, taken=frozenset()):
    if not wants:
        return True
    return any(has_pairing(wants[1:], taken | {donor}) for donor in wants[0] if donor not in taken)


def best(day):
    model = highspy.Highs()
    model.silent()
    model.setOptionValue("mip_rel_gap", 0.0)
    model.setOptionValue("threads", 1)
    donors, kept = day["donors"], kept_home(day)
    goes = [[] for _ in donors]
    moves, minutes, made_full, mends = [], [], {}, []
    for number, rig in enumerate(day["rigs"]):
        if rig["full"]:
            continue
        ways = []
        for mend in rig["mends"]:
            if not mend["wants"]:
                continue
            way = model.addBinary()
            ways.append(way)
            mends.append((way, mend["rests_on"]))
            for want in mend["wants"]:
                fits = []
                for donor, far in want:
                    if donor in kept and donors[donor]["district"] != rig["district"]:
                        continue
                    move = model.addBinary()
                    fits.append(move)
                    goes[donor].append(move)
                    moves.append(move)
                    minutes.append(far * move)
                if fits:
                    model.addConstr(sum(fits) == way)
                else:
                    model.addConstr(1 * way == 0)
        if ways:
            model.addConstr(sum(ways) <= 1)
            made_full[number] = ways
    for all_moves in goes:
        if all_moves:
            model.addConstr(sum(all_moves) <= 1)
    for number, most in enumerate(day["groups"]):
        together = [move for donor, of in zip(donors, goes) if donor["group"] == number for move in of]
        if together:
            model.addConstr(sum(together) <= most)
    for one, other in day["apart"]:
        if goes[one] and goes[other]:
            model.addConstr(sum(goes[one] + goes[other]) <= 1)
    for way, rests_on in mends:
        for donor in rests_on:
            if goes[donor]:
                model.addConstr(way + sum(goes[donor]) <= 1)
    reached, weight = 0, []
    for zone, demand in enumerate(day["zones"]):
        by = [rig for rig in range(len(day["rigs"])) if zone in day["rigs"][rig]["reaches"]]
        if any(day["rigs"][rig]["full"] for rig in by):
            reached += demand
            continue
        ways = [way for rig in by for way in made_full.get(rig, [])]
        if ways and demand:
            covered = model.addVariable(0, 1)
            model.addConstr(covered <= sum(ways))
            weight.append(demand * covered)
    if not moves or not weight:
        return [reached, 0, 0]
    found = []
    for aim, sign in ((sum(weight), 1), (sum(moves), -1), (sum(minutes), -1)):
        model.maximize(aim) if sign > 0 else model.minimize(aim)
        if model.getModelStatus() != highspy.HighsModelStatus.kOptimal:
            sys.exit(f"not solved: {model.getModelStatus()}")
        value = round(model.getObjectiveValue())
        found.append(value)
        # All amounts are whole.
        model.addConstr(aim >= value - 0.5) if sign > 0 else model.addConstr(aim <= value + 0.5)
    return [reached + found[0], found[1], found[2]]


# What the solver says of itself goes to the standard error.
answer = os.fdopen(os.dup(1), "w")
os.dup2(2, 1)
json.dump([best(day) for day in json.load(sys.stdin)], answer)
answer.close()
