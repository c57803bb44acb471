"""Remedies of checks, carried out as they are worded: every way out a sentence tells."""

import re

import tomlkit


def written(text, remedy):
    """The texts of the design file with each way out of a remedy written into it."""
    for way in re.sub(r"^Write (.*)\.$", r"\1", remedy).split("; or "):
        document = tomlkit.parse(text)
        for table, keys in re.findall(r"\[([a-z._ 0-9]+)\] ((?:(?! with \[).)+)", way):
            place = document
            for step in table.split("."):
                name, _, number = step.partition(" ")
                place = place.setdefault(name, {})
                place = place[int(number or 1) - 1] if isinstance(place, list) else place
            for key in keys.split(", "):
                if key.startswith("no "):
                    place.pop(key.removeprefix("no "), None)
                else:
                    name, value = key.split(" = ")
                    place[name] = tomlkit.parse(f"value = {value}")["value"]
        yield tomlkit.dumps(document)


def told(pattern, text):
    """The numbers of the first match, or None where the sentence does not say such a thing."""
    found = re.search(pattern.replace("#", r"(-?[\d.]+(?:e[-+]?\d+)?)"), text)
    return None if found is None else [float(n.rstrip(".")) for n in found.groups()]
