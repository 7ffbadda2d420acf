"""The end of each command's help: two lines that run as they stand in a clone, on the demo collection."""

EXAMPLES = {
    "help": ("glost help batch", "glost help --man > glost.1"),
    "version": ("glost version", "glost --version"),
    "completion": ("glost completion bash", "glost completion zsh --install"),
    "new": ('glost new "Harbour Mist, calmer" --cone 6', "glost new --collection --out studio"),
    "lint": ("glost lint corpus/studio", "glost lint corpus/studio/needs-work --fix --diff"),
    "format": (
        "glost format --check corpus/studio",
        "glost format - < corpus/studio/stoneware/harbour-mist.glost",
    ),
    "convert": (
        'glost convert corpus/studio/stoneware/harbour-mist.glost --to sheet --batch "500 g"',
        "glost convert corpus/studio --to html --out sheets",
    ),
    "catalog": (
        "glost catalog corpus/studio --out table.html",
        "glost catalog corpus/studio --to csv --out table.csv",
    ),
    "find": (
        'glost find corpus/studio --cone 6 --without "barium carbonate" --oxide "B2O3 > 0.1" --output table',
        "glost find corpus/studio --with cobalt -0 | xargs -0 glost convert --to sheet",
    ),
    "import": ("glost import notes.txt --dry-run", "glost import notes.txt --to recipes"),
    "formula": (
        "glost formula corpus/studio/stoneware/harbour-mist.glost --steps",
        "glost formula corpus/studio --output csv > formulas.csv",
    ),
    "materials": ("glost materials cobalt", 'glost materials "nepheline syenite"'),
    "record": ("glost record record.json", "glost record record.json --log log"),
    "usage": ("glost usage corpus/studio/log", "glost usage corpus/studio/log --by person"),
    "count": (
        'glost count "silica=5.2 kg" "kaolin=800 g" --on 2026-04-09 --log log',
        'glost count "tin oxide=0 g" --on 2026-04-09 --by "R. T." --log log',
    ),
    "delivery": (
        'glost delivery "silica=25 kg" --price "31.50 EUR" --lot S-95b --on 2026-04-09 --log log',
        'glost delivery "kaolin=50 lb" --price "0.90 EUR/kg" --on 2026-04-10 --log log',
    ),
    "stock": ("glost stock corpus/studio", "glost stock corpus/studio --on 2026-03-31 --output csv"),
    "cost": (
        'glost cost corpus/studio/stoneware/harbour-mist.glost --batch "500 g"',
        "glost cost corpus/studio/stoneware --output csv > costs.csv",
    ),
    "match": (
        'glost match corpus/studio/stoneware/clear-ebb.glost --using-materials "whiting, kaolin, silica"',
        "glost match corpus/studio/stoneware/clear-ebb.glost --output json",
    ),
    "plot": (
        "glost plot corpus/studio --out plot.html",
        "glost plot corpus/studio --cone 5-7 --out plot.svg",
    ),
    "firing": (
        "glost firing corpus/studio/firings/small-kiln-41.firing",
        'glost firing --date 2026-05-14 --name "Small kiln 45" --out small-kiln-45.firing',
    ),
    "results": (
        "glost results corpus/studio",
        "glost results corpus/studio/stoneware/harbour-mist.glost --output csv",
    ),
    "blend": (
        'glost blend corpus/studio/raku/{petrol-film,ember-crackle}.glost --by "50 %" --out blend.glost',
        "glost blend corpus/studio/blends/mist-to-ebb.glost --point 75/25 --out point.glost",
    ),
    "batch": (
        'glost batch corpus/studio/stoneware/harbour-mist.glost --batch "250 g"',
        'glost batch corpus/studio/stoneware/harbour-mist.glost --test storm --slip "2 l"',
    ),
    "rescue": (
        'glost rescue corpus/studio/stoneware/harbour-mist.glost --weighed "nepheline syenite=76, silica=50"',
        'glost rescue corpus/studio/stoneware/harbour-mist.glost --weighed "kaolin=36.5" --output json',
    ),
    "session": (
        "glost session corpus/studio/stoneware/harbour-mist.glost",
        "glost session corpus/studio/raku --output html > session.html",
    ),
    "compare": ("glost compare HEAD", "glost compare HEAD~1 HEAD --output markdown"),
    "history": (
        "glost history corpus/studio/stoneware/harbour-mist.glost",
        "glost history corpus/studio/stoneware/harbour-mist.glost --output csv",
    ),
    "textconv": (
        "glost textconv corpus/studio/stoneware/harbour-mist.glost",
        "git log -p --textconv -- corpus/studio/stoneware/harbour-mist.glost",
    ),
    "merge": ("glost merge OLDER OURS THEIRS harbour-mist.glost", "glost git-setup --print"),
    "git-setup": ("glost git-setup --print", "glost git-setup"),
    "server": ("glost server --help", "glost server < /dev/null"),
    "explain": ("glost explain", "glost explain below-readability"),
}
