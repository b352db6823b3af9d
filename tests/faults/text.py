"""Names in archives that would be code where they are shown."""

import csv
import io
import json
import re

from kit import SEASON, expect, hobble, reconciles, scan

HOSTILE = {
    "HTML": "<script>alert(1)</script><img src=x onerror=alert(1)>&quot;",
    "an attribute's end": "' onmouseover='alert(1)",
    "a formula": "=HYPERLINK(1)",
    "a formula with +": "+1+cmd",
    "a formula with -": "-1+cmd",
    "a formula with @": "@SUM(1)",
    "escape sequences": "\x1b[2J\x1b]0;title\x07red\x08\x08",
    "8-bit control characters": "\x9b31mred\x85next",
    "marks of direction": "\u202eevil\u2066\u200f\u061c",
    "a template": "{{ 7*7 }}{% raw %}",
    "a table's bars": "a|b`c`[d](javascript:alert(1))\u2028e",
}


def hostile(name):
    def case(work):
        data, file = work / "data", work / "x.pgn"
        text = SEASON.read_text()
        for tag in ("White", "Black", "Event", "Site"):
            text = re.sub(rf'\[{tag} ".*"\]', lambda _: f'[{tag} "{name}"]', text)
        file.write_text(text)
        scan(data, file).well()
        reconciles(data)
        shown = {}
        for form in ("text", "csv", "json", "markdown", "html"):
            ran = hobble("ask", "held-piece-lost", "--data", data, "--format", form)
            ran.well()
            shown[form] = ran.out
        page = work / "page.html"
        hobble("page", "held-piece-lost", "--data", data, "--out", page).well()
        expect("7*7" not in name or "49" not in page.read_text().split("<body")[0], "a template was filled in")
        for form in ("text", "markdown", "html", "csv"):
            wrong = re.findall("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069]", shown[form])
            expect(not wrong, f"{form}: {wrong[:3]}")
        for code in ("<script>alert", "<img src=x"):
            expect(code not in shown["html"], f"html: {code}")
        # Behind a backslash these are text.
        for code in ("<script>", "<img", "[d", "|b", "`c"):
            found = re.findall(rf".{re.escape(code)}", shown["markdown"])
            expect(all(two[0] == "\\" for two in found), f"markdown: {found[:3]}")
        expect(" onmouseover='" not in shown["html"], "an attribute was ended")
        for row in csv.reader(io.StringIO(shown["csv"])):
            for cell in row:
                if cell[:1] in "=+-@" and cell:
                    float(cell)  # a number, or else a formula
        examples = json.loads(shown["json"])["examples"]
        expect(examples, "no examples: the names were shown nowhere")
        plain = re.findall("[A-Za-z0-9]+", name)[-1]
        expect(plain in json.dumps(examples), "the name is not among the examples")
        return 0, "shown as text in text, CSV, JSON, Markdown and page"

    return case


CASES = [(f"names that are {what}", hostile(name)) for what, name in HOSTILE.items()]
