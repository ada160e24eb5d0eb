"""What a reader that is not ours makes of the structure of the papers: poppler's, and qpdf's check.

They are not a judge of PDF/UA, which nothing here claims; veraPDF was at no hand.
"""

import itertools
import re
import shutil
import subprocess

import pytest

from service.usecases.print_quote import Document
from tests.unit.adapters.documents.printing import HEAD, answer, layout_of, printed

QUOTE = "quote"
missing = [tool for tool in ("pdfinfo", "qpdf") if shutil.which(tool) is None]
pytestmark = pytest.mark.skipif(bool(missing), reason=f"not installed: {missing}")


@pytest.fixture(scope="module", params=list(Document), ids=str)
def paper(request, tmp_path_factory):
    layout = None if request.param is Document.CODE_REPORT else layout_of(QUOTE)
    file = tmp_path_factory.mktemp("heard") / f"{request.param}.pdf"
    file.write_bytes(printed(request.param, answer(QUOTE), layout))
    return request.param, file


def run(*command):
    return subprocess.run(command, check=True, capture_output=True, text=True).stdout


def elements(file):
    """Give role and text of each element in the order of reading, its pieces joined as they are."""
    found = []
    for line in run("pdfinfo", "-struct-text", file).splitlines():
        role = re.fullmatch(r"\s*([A-Z][A-Za-z0-9]*)(?: \(\w+\))?:?", line)
        said = re.fullmatch(r'\s*"(.*)"', line)
        if role:
            found.append([role[1], ""])
        elif said:
            found[-1][1] += said[1]
    return found


def test_the_file_is_whole_tagged_and_named(paper):
    _document, file = paper
    assert "No syntax or stream encoding errors found" in run("qpdf", "--check", file)
    facts = dict(re.findall(r"^(\w+): +(.+)$", run("pdfinfo", file), re.M))
    assert (facts["Tagged"], facts["Suspects"]) == ("yes", "no")
    assert facts["Title"].endswith(answer(QUOTE)["reference"])
    told = run("qpdf", "--json", file)
    assert '"/Lang": "u:en"' in told
    assert '"/DisplayDocTitle": true' in told


def test_headings_lead_down_one_step_at_a_time(paper):
    _, file = paper
    levels = [int(role[1]) for role, _ in elements(file) if re.fullmatch("H[1-6]", role)]
    assert levels[0] == 1
    assert all(after - before <= 1 for before, after in itertools.pairwise(levels))


def test_words_of_broken_lines_stay_apart(paper):
    _document, file = paper
    texts = " ".join(text for _, text in elements(file))
    heard = re.sub(r" +", " ", texts)
    cautions = answer(QUOTE)["cautions"]
    assert max(map(len, cautions)) > 150, "one is broken"
    assert [one for one in cautions if one not in heard] == []


def test_each_line_of_the_letterhead_is_heard_by_itself(paper):
    _, file = paper
    said = [text.strip() for role, text in elements(file) if role == "P"]
    lines = [HEAD.name, *HEAD.address, *HEAD.contact, HEAD.registration]
    assert said[: len(lines)] == lines


def test_every_drawing_has_words_in_its_place(paper):
    document, file = paper
    told = run("qpdf", "--json", file)
    figures = sum(role == "Figure" for role, _ in elements(file))
    assert figures == told.count('"/S": "/Figure"')
    assert figures == len(re.findall(r'"/Alt": "u:[^"]{10,}', told)), "nothing else has an Alt"
    tables = sum(role == "Table" for role, _ in elements(file))
    summaries = len(re.findall(r'"/Summary": "u:[^"]{5,}', told))
    assert 0 < summaries <= tables
    assert (figures > 0) == (document is not Document.CODE_REPORT)
