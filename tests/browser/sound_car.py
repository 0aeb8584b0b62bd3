"""What a careful mechanic enters on the sheets of a car in good order."""

from tests.browser.trade import Item

# Figures of the sheets that depend on this car; every other one lies in the middle of its limits.
MEASURED = {
    "coil-primary": "3.05",
    "battery-12": "12.6",
    "red-line": "6000",
    "lead-longest": "9.4",
    "dwell-change": "55.5",
    "plug-gap": "0.65",
    "idle-speed": "860",
    "dwell": "55",
    "dwell-set": "54",
    "tip-at-edge": "-4.5",
    "trigger-edge": "20",
    "feed-cranking-12": "10.1",
    "cranking-12": "10.2",
}
FOUND = {
    "post-to-body": "negative",
    "rotor-direction": "anticlockwise",
    "system-volts": "12 V",
    "charging-kind": "alternator",
    "ballast-found": "none",
    "trigger-found": "points",
    "cylinders-counted": "4",
    "vacuum-source": "manifold",
}


def answer(item: Item) -> str:
    """What a careful mechanic enters on a car in good order."""
    match item["kind"]:
        case "measure":
            low, high = item["low"], item["high"]
            if item["key"] in MEASURED:
                return MEASURED[item["key"]]
            if low is not None and high is not None:
                return f"{(low + high) / 2:.{item['units'][0]['decimals']}f}"
            if high is not None:
                return f"{high * 0.4:.{item['units'][0]['decimals']}f}"
            return f"{(low or 0.5) * 1.2:.{item['units'][0]['decimals']}f}"
        case "choice":
            return FOUND.get(item["key"], (item["goodChoices"] or item["choices"])[0])
        case _:
            return "1342" if item["key"] == "firing-order" else "as the card says"
