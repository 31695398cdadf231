"""The pages that are looked at: those of the example logs, and some that were written to break them."""

from collections.abc import Callable
from pathlib import Path

from sitelog.cli.main import main

EXAMPLES = Path(__file__).parents[3] / "example_logs"
SITES = tuple(sorted(path.stem for path in (EXAMPLES / "sites").glob("*.site")))
TODAY = "2026-11-25"

# Sixty letters and more without a place to break, as German makes them.
LONG = "Wechselrichterzuleitungsklemmenanzugsdrehmomentprüfprotokollblatt"
HOSTILE = (
    "<script>window.ran=1</script><img src=x onerror=window.ran=1>'\\\"></style></svg>&lt;b&gt;{{7*7777}}"
)
# A name, a name that may be quoted, a text: one to break lines, one to break out, one that does neither.
WRITTEN = {
    "long": (LONG, LONG, LONG),
    "hostile": ("hill-9", '"' + HOSTILE.replace('"', "") + '"', HOSTILE),
    "plain": ("hill-9", '"word"', "word"),
}

# In braces: a name, a name that may be quoted, a text in quotes, a text that runs to the end of the line.
_SHEET = """\
sheet   {any}  revision {any}  {quoted}
source  {quoted}
rule    guarded 95 %
same    earth PE
look    {name}h
step    {name}a
part    {name}b
joint   {name}-1..4  M8  12 Nm +-10 %  every 12 months  source {quoted}
reading insulation  dc-pos/earth, dc-neg/earth  >= 1 MΩ at 500 V  source {quoted}
reading voltage  {name}c  180..216 V
set     {name}d {name}e  >= 2.8
step    breaker-on    after {name}  caution {quoted}
cable   {name}/{name}f  drop <= 1.5 %  size >= 10 mm2
"""
_KIT = """\
kit    {any}
tool   {name}T  torque-wrench  4..20 Nm +-4 %   serial {any}
tool   {name}M  insulation  0..999 MΩ +-3 %, voltage 0..600 V +-0.5 %   serial {any}
calibrated {name}T  2026-01-15  due 2027-01-15  cert {any}
calibrated {name}M  2026-01-20  due 2026-02-20  cert {any}
"""
_LOG = """\
# {text}
site   {any}  {quoted}
sheet  {any}  revision {any}
kit    {any}
crew   {any}  lead  {quoted}
crew   {name}g

visit  install
day    2026-03-02  {text}
08:05  use     {name}T, {name}M
08:10  did     {name}a   -- {text}
08:14  serial  {name}b  {any}
08:30  look    {name}h  ok  -- {text}
09:20  torque  {name}-1..4  12.1 12.0 12.1 9.8 Nm  by {name}g  -- {text}
09:40  torque  {name}-4  12.0 Nm  -- {text}
09:41  strike  torque {name}-4 12.0 Nm  -- {text}
09:50  reading insulation dc-pos/PE  >999 MΩ at 500 V  -- {text}
09:55  reading voltage {name}c  {name}  {text}
10:00  cable   {name}/{name}f  10 mm2 Cu 3.6 m 25 A at 192 V dc capacity 57 A fuse 40 A
10:05  set     {name}d {name}e  2.9.4
10:06  n/a     {name}-2  by {any}  -- {text}
10:07  defect  {name}9  major of {name}-3  {quoted}  -- {text}
10:08  photo   {quoted} of {name}b
10:09  note    {text}
10:12  did     breaker-on
10:20  sign    {any}  installed  -- {text}
not an entry at all: {text}
{text}
away   {text}
"""


def made_by(own: Path, shared: Path) -> Callable[[str], Path]:
    """A function from a page's name to its file, which is made in one folder and put in another, once."""

    def page(name: str) -> Path:
        path = shared / f"{name}.html"
        if not path.exists():
            _written(name, own).replace(path)
        return path

    return page


def _written(name: str, folder: Path) -> Path:
    page = folder / f"{name}.html"
    if name == "overview":
        words = ["overview", str(EXAMPLES)]
    elif name in SITES:
        words = ["handover", name, str(EXAMPLES)]
    else:
        logs = folder / name
        write_logs(logs, *WRITTEN[name])
        words = ["handover", str(next(logs.glob("*.site"))), str(logs)]
    assert main([*words, "-o", str(page), "--today", TODAY]) == 0
    return page


def write_logs(folder: Path, name: str, any_name: str, text: str) -> None:
    """A site, its sheet and its kit, with these names and this text wherever a person may write one."""
    folder.mkdir()
    stem = text.replace("/", "").replace("\\", "")[:80]
    quoted = f'"{text.replace(chr(34), "")}"'
    for ending, body in (("site", _LOG), ("sheet", _SHEET), ("kit", _KIT)):
        written = body.format(name=name, any=any_name, quoted=quoted, text=text)
        (folder / f"{stem}.{ending}").write_text(written, encoding="utf-8")
