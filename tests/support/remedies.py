"""Remedies of checks, carried out as they are worded: every way out a sentence tells."""

import re

import tomlkit

from gearwork.checks.hub.fixing import (
    bolted,
    bolted_to_gear,
    bonded,
    clamped,
    glued_on_rod,
    glued_to_gear,
    pocketed,
    spring_clamped,
)
from gearwork.stock.hardware import rod


def written(text, remedy):
    """The texts of the design file with each way out of a remedy written into it."""
    for way in re.sub(r"^Write (.*)\.$", r"\1", remedy).split("; or "):
        document = tomlkit.parse(text)
        for table, keys in re.findall(r"\[([a-z._]+)\] ((?:(?! with \[).)+)", way):
            place = document
            for name in table.split("."):
                place = place.setdefault(name, {})
                place = place[0] if isinstance(place, list) else place
            for key in keys.split(", "):
                if key.startswith("no "):
                    place.pop(key.removeprefix("no "), None)
                else:
                    name, value = key.split(" = ")
                    place[name] = float(value) if "." in value or "e" in value else int(value)
        yield tomlkit.dumps(document)


def told(pattern, text):
    """The numbers of the first match, or None where the sentence does not say such a thing."""
    found = re.search(pattern.replace("#", r"(-?[\d.]+(?:e[-+]?\d+)?)"), text)
    return None if found is None else [float(n.rstrip(".")) for n in found.groups()]


def remembered(name, own=None, relief=0.0, partner=None, panel=None):
    """The fixing of this name, made from the numbers in it and what was there before."""
    own = own or rod("M8")
    named = re.search(r"(?:nuts|nut|the|an) (M\d+)", name)
    on = rod(named[1], own.grade.name) if named else own
    if "disc spring" in name:
        return spring_clamped(on, panel, int(*told(r"# disc", name)))
    if name.startswith("clamped"):
        kind = "wide washer" if "wide" in name else "flange nut"
        return clamped(on, kind, thread_lock="locked" in name)
    if name.startswith("bonded"):
        return bonded(on, "wide washer" if "wide" in name else "flange nut")
    if name.startswith("glued with"):
        return glued_on_rod(on)
    if "neighbour gear over" in name:
        return glued_to_gear(own, *told(r"over # mm", name), partner)
    if " let " in name:
        return pocketed(on, *told(r"let # mm", name), relief, 2 if "each" in name else 1)
    count, thread, grade, circle = re.match(
        r"(\d+) bolts (M\d+) (\S+) on a (\d+) mm circle", name
    ).groups()
    if "neighbour" in name:
        return bolted_to_gear(own, rod(thread, grade), int(count), float(circle), partner)
    return bolted(on, rod(thread, grade), int(count), float(circle))
