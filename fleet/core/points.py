"""The points of the walkaround check, as data: what to look at, what for, and which source names it."""

#: By name, in the order in which one walks round the car.
GROUPS: dict[str, str] = {
    "outside": "Round the outside",
    "fluids": "Under the bonnet",
    "inside": "At the wheel",
    "tuition": "For tuition",
}
