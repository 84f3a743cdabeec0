"""The documentation does what it says: its code runs, its build files are accepted, its links hold."""

import re
import shlex
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest
from click.testing import CliRunner

ROOT = Path(__file__).parents[1]
PAGES = sorted([*(ROOT / "docs").rglob("*.md"), *ROOT.glob("*.md")])
RUN = [page for page in PAGES if page.name != "CHANGELOG.md"]
FENCE = re.compile(r"^```(?P<info>[^\n`]*)\n(?P<body>.*?)^```\s*$", re.M | re.S)
LINK = re.compile(r"(?<!`)\[[^\]\n]*\]\((?P<target>[^)\s]+)\)")
BUILD_FORMAT = "format: loopwright-build/1"


def name(page: Path) -> str:
    """Path of a page from the root, as test name."""
    return page.relative_to(ROOT).as_posix()


@dataclass(frozen=True)
class Block:
    """A fenced block: language, the file to save it as (second word of the fence), text and line."""

    language: str
    file: str
    text: str
    line: int


def blocks(text: str) -> Iterator[Block]:
    """The fenced blocks of a page, in order."""
    for match in FENCE.finditer(text):
        language, _, file = match["info"].strip().partition(" ")
        yield Block(language, file.strip(), match["body"], text.count("\n", 0, match.start()) + 1)


def commands(block: Block) -> list[list[str]]:
    """The command lines of a console block; a line that ends in a backslash goes on."""
    joined = block.text.replace("\\\n", " ")
    lines = [line.removeprefix("$ ") for line in joined.splitlines() if line.startswith("$ ")]
    return [shlex.split(line, comments=True) for line in lines]


def dev_jobs() -> set[str]:
    """What dev.py can be asked to do."""
    return set(re.findall(r'add_parser\("(\w+)"', (ROOT / "dev.py").read_text("utf-8")))


def run_command(words: list[str], place: str) -> None:
    """Run a loopwright command as a reader would type it; look up a dev.py command without running it."""
    if words[0] == "loopwright":
        from loopwright.cli import group as main

        result = CliRunner().invoke(main, words[1:], catch_exceptions=False)
        assert result.exit_code == 0, f"{place}: {shlex.join(words)}\n{result.output}"
    elif words[1:2] == ["dev.py"]:
        assert words[2] in dev_jobs(), f"{place}: dev.py has no '{words[2]}'"


def check_build(block: Block, place: str) -> None:
    """Read a whole build file that a page shows."""
    from loopwright import buildfile

    buildfile.read_text(block.text, file=place)


def follow(text: str, place: str) -> int:
    """Do everything a page says, in its order and in the current folder; return how many blocks were done."""
    names: dict[str, object] = {"__name__": "page"}
    done = 0
    for block in blocks(text):
        here = f"{place}:{block.line}"
        done += 1
        if block.file:
            Path(block.file).write_text(block.text, "utf-8")
        if block.language == "python":
            exec(compile("\n" * block.line + block.text, place, "exec"), names)
        elif block.language == "console":
            for words in commands(block):
                run_command(words, here)
        elif block.language == "yaml" and block.text.startswith(BUILD_FORMAT):
            check_build(block, here)
        else:
            done -= 1
    return done


def anchors(page: Path) -> set[str]:
    """The headings of a page as link targets, the way code hosting sites make them."""
    text = FENCE.sub("", page.read_text("utf-8"))
    titles = re.findall(r"^#+\s+(.*?)\s*$", text, re.M)
    return {re.sub(r"[^\w\- ]", "", title.lower()).replace(" ", "-") for title in titles}


def dead_links(page: Path, top: Path = ROOT) -> list[str]:
    """Links of a page that lead to no file, no heading, or out of the repository."""
    dead = []
    for match in LINK.finditer(FENCE.sub("", page.read_text("utf-8"))):
        target = match["target"]
        if "://" in target or target.startswith("mailto:"):
            continue
        path, _, anchor = target.partition("#")
        goal = (page.parent / path).resolve() if path else page
        there = goal.is_file() and goal.is_relative_to(top)
        if not there or (anchor and goal.suffix == ".md" and anchor not in anchors(goal)):
            dead.append(target)
    return dead


@pytest.mark.parametrize("page", RUN, ids=name)
def test_a_page_does_what_it_says(page: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Every Python block runs, every command ends well, every build file shown is accepted."""
    monkeypatch.chdir(tmp_path)
    follow(page.read_text("utf-8"), name(page))


@pytest.mark.parametrize("page", PAGES, ids=name)
def test_links_lead_somewhere(page: Path) -> None:
    """Each link inside the repository leads to a file, and to a heading if it names one."""
    assert dead_links(page) == []


def test_every_page_can_be_reached() -> None:
    """Every page of docs/ is linked from the index of docs/."""
    index = (ROOT / "docs" / "README.md").read_text("utf-8")
    linked = {(ROOT / "docs" / m["target"].partition("#")[0]).resolve() for m in LINK.finditer(index)}
    assert [name(p) for p in (ROOT / "docs").rglob("*.md") if p not in linked and p.name != "README.md"] == []


def test_the_follower_runs_python(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Blocks of a page share their names and can read a file that the page shows; a false statement fails."""
    monkeypatch.chdir(tmp_path)
    good = "```text a.txt\n```\n```python\nimport os\n```\n```python\nassert os.listdir() == ['a.txt']\n```\n"
    assert follow(good, "page") == 2
    with pytest.raises(AssertionError):
        follow("```python\nassert 1 == 2\n```\n", "page")


def test_the_follower_reads_commands() -> None:
    """Only lines that begin with a dollar sign are commands; a backslash joins two lines."""
    (block,) = blocks("```console\n$ loopwright check a.yaml \\\n    --json\nfine\n$ ls  # look\n```\n")
    assert commands(block) == [["loopwright", "check", "a.yaml", "--json"], ["ls"]]


def test_the_follower_knows_the_jobs_of_dev() -> None:
    """A page cannot name a job that dev.py has not got."""
    run_command(["python3", "dev.py", "demo"], "page")
    with pytest.raises(AssertionError, match="no 'fly'"):
        run_command(["python3", "dev.py", "fly"], "page")


def test_a_dead_link_is_seen(tmp_path: Path) -> None:
    """A link to a missing file or heading is found, and one to a heading that is there is not."""
    page = tmp_path / "page.md"
    page.write_text("# One way\n[a](#one-way) [b](#another) [c](gone.md) [d](https://example.org)\n", "utf-8")
    assert dead_links(page, tmp_path) == ["#another", "gone.md"]
