"""Every page against a validator: the Nu Html Checker (vnu), which knows the HTML standard, SVG and CSS."""

import json
import subprocess

from tests.report.browser import npm
from tests.report.browser.pages import SITES

VERSION = "26.9.27"
# It takes `img-src data:` for a policy that blocks data: images. In Content Security Policy (W3C) a scheme
# matches itself (from memory), and test_screen.py sees that the browser shows them.
MISTAKEN = "Resource violates Content Security Policy (meta tag): image “data:image/jpeg;base64,"


def _said(java, files):
    jar = npm.package("vnu-jar", VERSION) / "build" / "dist" / "vnu.jar"
    command = [java, "-jar", str(jar), "--stdout", "--exit-zero-always", "--format", "json", *map(str, files)]
    done = subprocess.run(command, capture_output=True, text=True, timeout=120, check=True)
    return [
        (one["url"].rpartition("/")[2], one.get("lastLine"), one["message"])
        for one in json.loads(done.stdout)["messages"]
        if one["type"] != "info" or one.get("subType") == "warning"
        if not one["message"].startswith(MISTAKEN)
    ]


def test_every_page_is_valid_html(java, page_of, tmp_path):
    wrong = tmp_path / "wrong.html"
    wrong.write_text("<!doctype html><html lang=en><title>x</title><p><div id=a></div><div id=a></div></p>")
    said = _said(java, [wrong, *map(page_of, [*SITES, "overview", "long", "hostile"])])
    assert {file for file, _, _ in said} >= {"wrong.html"}  # it does look
    assert [one for one in said if one[0] != "wrong.html"] == []
