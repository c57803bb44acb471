"""Remedies of checks, carried out as they are worded: every way out a sentence tells."""

import re


def told(pattern, text):
    """The numbers of the first match, or None where the sentence does not say such a thing."""
    found = re.search(pattern.replace("#", r"(-?[\d.]+(?:e[-+]?\d+)?)"), text)
    return None if found is None else [float(n.rstrip(".")) for n in found.groups()]
