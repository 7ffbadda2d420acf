"""Pages that the hostile cases are made of."""

GOOD = """\
glaze "A"
cone: 6
atmosphere: oxidation
origin: own test

base:
    nepheline syenite      60
    whiting                40
"""
BAD = GOOD.replace("40", "39")
LOOSE = GOOD.replace("      60", " 60").replace("                40", " 40")
HEAD = 'glaze "A"\ncone: 6\natmosphere: oxidation\norigin: own test\n'
BASE = "base:\n    nepheline syenite      60\n    whiting                40\n"
