"""Reports read by programs that share no code with ours: HTML by a strict parser, calendars by an iCalendar reader and
against the folding of RFC 5545, PDF by two PDF readers.

Usage: check-reports.py FOLDER. Prints one line for each mistake; the exit status is 1 where there is one.
"""

import json
import pathlib
import re
import sys

import html5lib
import icalendar
import pikepdf
import pypdfium2

NOTICE = "Check the current rulebook"
mistakes = []


def wrong(path, what):
    mistakes.append(f"{path.name}: {what}")


def solid(text):
    """Without any space: where a line breaks is the renderer's affair."""
    return re.sub(r"\s+", "", text)


def check_html(path):
    parser = html5lib.HTMLParser(tree=html5lib.getTreeBuilder("etree"), strict=False)
    tree = parser.parse(path.read_text(encoding="utf-8"))
    for place, code, _ in parser.errors:
        wrong(path, f"line {place[0]}: {code}")
    for element in tree.iter():
        name = str(element.tag).rsplit("}", 1)[-1]
        if name in {"script", "link", "img", "iframe", "object", "embed", "form", "a"}:
            wrong(path, f"an element {name}")
        for key in element.attrib:
            if key.lower().startswith("on") or key.lower() in {"src", "href", "action"}:
                wrong(path, f"an attribute {key}")


def check_ics(path):
    data = path.read_bytes()
    if b"\n" in data.replace(b"\r\n", b""):
        wrong(path, "a line break that is not CR LF")
    for line in data.split(b"\r\n"):
        if len(line) > 75:
            wrong(path, f"a line of {len(line)} octets")
        line.decode("utf-8")
    calendar = icalendar.Calendar.from_ical(data)
    if not calendar.subcomponents:
        wrong(path, "nothing in it")
    for event in calendar.subcomponents:
        for key in ("UID", "DTSTAMP", "SUMMARY") + (("DTSTART",) if event.name == "VEVENT" else ()):
            if key not in event:
                wrong(path, f"an event without {key}")
        if NOTICE not in event.get("DESCRIPTION", ""):
            wrong(path, "an event without the notice")


def check_pdf(path):
    with pikepdf.open(path) as file:
        for problem in file.check_pdf_syntax():
            wrong(path, problem)
        root = file.Root
        if "/StructTreeRoot" not in root or not root.MarkInfo.Marked or "/Lang" not in root:
            wrong(path, "not tagged")
        with file.open_metadata() as metadata:
            if metadata.get("{http://www.aiim.org/pdfua/ns/id/}part") != "1":
                wrong(path, "does not claim PDF/UA-1")
        for font in (o for o in file.objects if isinstance(o, pikepdf.Dictionary) and o.get("/Type") == "/FontDescriptor"):
            if "/FontFile2" not in font and "/FontFile3" not in font:
                wrong(path, f"{font.FontName} is not embedded")
        pages = len(file.pages)
    text = pypdfium2.PdfDocument(path)
    # A stretch that a reader joins over a line break may carry the sign for it.
    said = [text[at].get_textpage().get_text_range().replace("\ufffe", "") for at in range(pages)]
    for at, page in enumerate(said):
        if f"page {at + 1} of {pages}" not in page:
            wrong(path, f"page {at + 1} has no number")
    findings(path, solid("".join(said)))
    if NOTICE not in said[0] or NOTICE not in said[-1]:
        wrong(path, "the notice is not on the first and the last page")


def findings(path, said):
    """Titles, values and notes of open findings can be copied out, in the order of the JSON report."""
    if "deficiency" not in path.name:
        return
    facts = json.loads(path.with_suffix(".json").read_text(encoding="utf-8"))
    for finding in facts["findings"]:
        for key in ("title", "note"):
            text = solid(finding.get(key) or "")
            # What has no glyph or commands a terminal is written otherwise, by design. A foot may stand inside a long
            # note: its beginning and its end are enough.
            if text.isascii() and text.isprintable() and text and finding["state"] == "open" and (text[:30] not in said or text[-10:] not in said):
                wrong(path, f"{finding['check']}: its {key} cannot be copied out")


for path in sorted(pathlib.Path(sys.argv[1]).iterdir()):
    {".html": check_html, ".ics": check_ics, ".pdf": check_pdf}.get(path.suffix, lambda _: None)(path)
    if path.suffix in {".text", ".html", ".json", ".ics"} and "passed" in path.read_text(encoding="utf-8").lower():
        wrong(path, "says passed")
print("\n".join(mistakes) or "reports: no mistake")
sys.exit(bool(mistakes))
