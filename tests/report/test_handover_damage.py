"""Whatever stands in a log, a page comes: example logs with lines lost, doubled, moved, cut and garbled."""

from __future__ import annotations

import random
from datetime import date
from pathlib import Path

import pytest

from sitelog.fleet.workspace import load
from sitelog.report.handover import handover
from sitelog.report.handover.markdown import markdown
from sitelog.report.handover.page import page
from sitelog.report.photos import shrunk
from tests.report.reading import Page

EXAMPLES = Path(__file__).parents[2] / "example_logs"
WORDS = ["___", "-", "0", "1e9", "-5", "<3", ">0", "not tested", "held", "n/a", "Ω", "degF", "1000000 GΩ"]
LINES = [
    "strike torque", "loosed rail-1", "swap module-A KD26-11801 -> KD26-99999", "removed module-B",
    "visit removal", "visit service", "day 2026-10-09", "cleared D1", "away", "sign mo removed",
    "n/a rod-1 by lo -- x", "series discharge nowhere.csv", "reading insulation dc-pos/PE 0 MΩ at 500 V",
    "reading insulation dc-pos/PE -1 MΩ at 500 V", "photo ../../x.jpg of D1", "photo x.svg of D1",
]  # fmt: skip


def damaged(text: str, chance: random.Random) -> str:
    lines = text.split("\n")
    for _ in range(chance.randrange(2, 9)):
        at, other = chance.randrange(len(lines)), chance.randrange(len(lines))
        match chance.randrange(6):
            case 0:
                lines[at] = ""
            case 1:
                lines.insert(at, lines[other])
            case 2:
                lines[at], lines[other] = lines[other], lines[at]
            case 3:
                lines[at] = lines[at][: chance.randrange(len(lines[at]) + 1)]
            case 4:
                words = lines[at].split(" ")
                words[chance.randrange(len(words))] = chance.choice(WORDS)
                lines[at] = " ".join(words)
            case 5:
                lines.insert(at, chance.choice(LINES))
    return "\n".join(lines)


@pytest.mark.parametrize("seed", range(6))
def test_a_damaged_log_makes_a_page(tmp_path, seed):
    chance = random.Random(seed)
    for path in (*EXAMPLES.glob("*.sheet"), *EXAMPLES.glob("*.kit")):
        text = path.read_text(encoding="utf-8")
        (tmp_path / path.name).write_text(damaged(text, chance) if seed % 3 == 0 else text, encoding="utf-8")
    log = chance.choice(sorted((EXAMPLES / "sites").glob("*.site")))
    for nth in range(1 + seed % 2):
        text = damaged(log.read_text(encoding="utf-8"), chance)
        (tmp_path / f"{nth}{log.name}").write_text(text, encoding="utf-8")
    found = load([str(tmp_path)], date(2026, 11, 25))
    assert found.judged
    for site in found.judged:
        facts = handover(site, found.findings, shrunk)
        assert markdown(facts).startswith("# ")
        read = Page(page(facts))
        assert read.unclosed == []
        assert len(read.ids) == len(set(read.ids))
        assert {link.removeprefix("#") for link in read.links} <= set(read.ids)
        assert "nan" not in read.text.lower().split()
