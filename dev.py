#!/usr/bin/env python3
"""Set up and run Loopwright from a fresh copy: ``python3 dev.py demo`` or ``python3 dev.py test``.

Needs Python 3.11 or newer and nothing else. Environments are made under .venv from the lock files in
requirements/, so everybody runs the same versions. Remove them at any time with ``python3 dev.py clean``.
"""

import sys

if sys.version_info < (3, 11):  # noqa: UP036 - said kindly to whoever runs it with an older one
    sys.exit(
        f"Loopwright needs Python 3.11 or newer; this is {sys.version_info[0]}.{sys.version_info[1]}.\n"
        "Run it with a newer one, for example: python3.13 dev.py demo"
    )

import argparse
import hashlib
import json
import os
import re
import shutil
import subprocess
import tempfile
import time
from collections.abc import Callable, Sequence
from functools import partial
from pathlib import Path

ROOT = Path(__file__).resolve().parent
VENVS = ROOT / ".venv"
DEMO = Path("demo")
HALF_WAY = "46"  # the entry at which the column leans, and its shims are about to be set
SCREENS = "LOOPWRIGHT_SCREENS"  # folder into which the tests photograph every page
LOCK_TOOL = "uv 0.13.9"
LOCKS = {
    "loopwright": ("--group", "build", "--extra", "web", "--extra", "sheets"),
    "dev": (
        "--group",
        "dev",
        "--extra",
        "web",
        "--extra",
        "sheets",
        "--extra",
        "postgresql",
        "-c",
        "requirements/loopwright.lock",
    ),
    "all": ("--group", "build", "--all-extras", "-c", "requirements/loopwright.lock"),
}
HINTS = {
    "DO NOT MATCH THE HASHES": (
        "A downloaded file is not the one that was locked. Try again; if it stays so, report it."
    ),
    "No space left": "The disk is full.",
    "SSL": "The package index did not show a certificate that this machine trusts.",
    "onnection": "The package index could not be reached. Check the network and the proxy, then run again.",
    "No matching distribution": (
        "Nothing to install was found. Without a network the first run cannot work; with one, this Python "
        "or this machine may be too new or too rare for the locked versions."
    ),
    "ensurepip": "This Python has no venv module. On Debian or Ubuntu: sudo apt install python3-venv",
}
NEEDS_POSTGRESQL = "LOOPWRIGHT_NEEDS_POSTGRESQL"
NEEDS_CHROMIUM = "LOOPWRIGHT_NEEDS_CHROMIUM"
CHROMIUM = ("chromium", "chromium-browser", "google-chrome")
NO_CHROMIUM = (
    "the pages were NOT tested in a browser: no Chromium is installed. "
    "On Debian or Ubuntu: sudo apt install chromium"
)
NO_POSTGRESQL = (
    "the book was NOT tested on PostgreSQL: no server is installed. "
    "On Debian or Ubuntu: sudo apt install postgresql"
)
OLD_BOOK = ROOT / "tests" / "rooms" / "book_version_1.book"
OPEN_OLD_BOOK = """
from loopwright import book
book.open_book("old.book").close()
raise SystemExit("\\n".join(map(str, book.verify("old.book").problems)) or None)
"""
LEAKS = {"PYTHONHOME", "PYTHONPATH", "__PYVENV_LAUNCHER__"}
WINDOWS = os.name == "nt"
Tick = Callable[[], None]


class Stopped(Exception):
    """The run cannot go on; the text says why and what would do."""


class Steps:
    """Numbered progress lines with the seconds each step took."""

    def __init__(self, total: int) -> None:
        self.total, self.done, self.begun = total, 0, time.monotonic()
        self.live = sys.stdout.isatty()

    def run(self, title: str, work: Callable[[Tick], object]) -> None:
        """Do ``work``, which gets a function to call now and then while it waits."""
        self.done += 1
        start = time.monotonic()
        line = f"{self.done}/{self.total} {title} … "

        def tick() -> None:
            if self.live:
                print(f"\r{line}{time.monotonic() - start:.0f} s ", end="", flush=True)

        print(line, end="", flush=True)
        try:
            work(tick)
        except BaseException:
            print()
            raise
        print(f"{chr(13) + line if self.live else ''}{time.monotonic() - start:.0f} s", flush=True)

    def skip(self, title: str) -> None:
        """Count a step that needs no waiting for."""
        self.done += 1
        print(f"{self.done}/{self.total} {title}", flush=True)


def environment() -> dict[str, str]:
    """Return the caller's environment without what would leak other packages into ours."""
    return {k: v for k, v in os.environ.items() if k not in LEAKS} | {"PYTHONUTF8": "1"}


def aloud(command: Sequence[str]) -> int:
    """Run a command that speaks for itself, and return its exit code."""
    return subprocess.run(command, cwd=ROOT, env=environment(), check=False).returncode


def quietly(command: Sequence[str], tick: Tick, *, cwd: Path = ROOT) -> None:
    """Run a command, keep its output to ourselves, and show its end only when it fails."""
    with tempfile.TemporaryFile() as out:
        process = subprocess.Popen(command, cwd=cwd, env=environment(), stdout=out, stderr=subprocess.STDOUT)
        try:
            while process.poll() is None:
                tick()
                time.sleep(0.1)
        except BaseException:
            process.kill()
            process.wait()
            raise
        if process.returncode:
            out.seek(0)
            text = out.read().decode("utf-8", "replace").strip()
            raise Stopped(explained(command, text))


def explained(command: Sequence[str], text: str) -> str:
    """Say what failed, the last lines it said, and what would do."""
    hints = [hint for sign, hint in HINTS.items() if sign in text][:1]
    tail = "\n".join("    " + line for line in text.splitlines()[-12:])
    shown = " ".join([Path(command[0]).name, *command[1:]])
    return "\n".join(["This failed:", f"    {shown}", tail, *hints])


class Venv:
    """One environment under .venv, made from one lock file, remade when anything it was made from changes."""

    def __init__(self, name: str, lock: str, *, editable: bool = True) -> None:
        self.folder = VENVS / f"{name}-{sys.version_info[0]}.{sys.version_info[1]}"
        self.lock = ROOT / "requirements" / f"{lock}.lock"
        self.editable = editable
        self.stamp = self.folder / "made-from.json"

    def tool(self, name: str) -> str:
        """Path of an installed command."""
        return str(self.folder / ("Scripts" if WINDOWS else "bin") / (name + (".exe" if WINDOWS else "")))

    def module(self, *arguments: str) -> list[str]:
        """Command line of an installed module."""
        return [self.tool("python"), "-m", *arguments]

    def origin(self) -> dict[str, str]:
        """What the environment must have been made from to be used as it is."""
        project = (ROOT / "pyproject.toml").read_bytes() if self.editable else b""
        return {
            "python": sys.version,
            "folder": str(self.folder),
            "lock": hashlib.sha256(self.lock.read_bytes()).hexdigest(),
            "project": hashlib.sha256(project).hexdigest(),
        }

    def is_sound(self) -> bool:
        """Whether the environment is finished, up to date and still runs."""
        try:
            if json.loads(self.stamp.read_text("utf-8")) != self.origin():
                return False
            probe = [self.tool("python"), "-c", "import numpy" + (", loopwright" if self.editable else "")]
            return subprocess.run(probe, env=environment(), capture_output=True, timeout=120).returncode == 0
        except (OSError, ValueError, subprocess.TimeoutExpired):
            return False

    def make(self, steps: Steps) -> None:
        """Make the environment in three steps, or say in one line each that it stands."""
        name = self.folder.relative_to(ROOT)
        if self.is_sound():
            steps.total -= 2 if self.editable else 1
            steps.skip(f"{name} is up to date")
            return
        if Path(sys.prefix).resolve() == self.folder.resolve():
            raise Stopped(f"{name} must be remade, and this Python runs from it. Use another: python3 dev.py")
        steps.run(f"making the environment {name}", self._create)
        steps.run(f"installing the locked packages ({self.lock.name})", self._install)
        if self.editable:
            steps.run("installing Loopwright from this folder", self._install_project)
        self.stamp.write_text(json.dumps(self.origin()), "utf-8")

    def pip(self, *arguments: str) -> list[str]:
        """Command line of the environment's own pip, with the user's settings left as they are."""
        return self.module("pip", "--disable-pip-version-check", "--no-input", *arguments)

    def _create(self, tick: Tick) -> None:
        self.stamp.unlink(missing_ok=True)
        if self.folder.exists():
            shutil.rmtree(self.folder)
        quietly([sys.executable, "-m", "venv", str(self.folder)], tick)

    def _install(self, tick: Tick) -> None:
        lock = self.lock.relative_to(ROOT)
        quietly(self.pip("install", "--progress-bar", "off", "--require-hashes", "-r", str(lock)), tick)

    def _install_project(self, tick: Tick) -> None:
        quietly(self.pip("install", "--no-deps", "--no-build-isolation", "-e", "."), tick)


def demo(look: bool = True) -> int:
    """Make the example machine and the book of its invented history; say where it stands, and open it in a browser."""
    venv, steps = Venv("demo", "loopwright"), Steps(8)
    build, report = str(DEMO / "clock-plate-drilling-machine.yaml"), str(DEMO / "report.html")
    book, half_way = str(DEMO / "clock-plate.book"), str(DEMO / "clock-plate-half-way.book")
    venv.make(steps)
    (ROOT / DEMO).mkdir(exist_ok=True)
    loopwright = venv.tool("loopwright")
    for made, command in {
        build: [loopwright, "new", build, "--like", "clock-plate"],
        book: [loopwright, "book", "import", "--like", "clock-plate", book],
        half_way: [loopwright, "book", "import", "--like", "clock-plate", half_way, "--until", HALF_WAY],
    }.items():
        if (ROOT / made).exists():
            steps.skip(f"{made} is there and is kept as it is")
        else:
            steps.run(f"writing {made}", partial(quietly, command))
    written = [loopwright, "budget", build, "--report", report]
    steps.run(f"writing {report}: what the machine will hold", lambda tick: quietly(written, tick))
    steps.skip("where it stands as built, by its invented readings\n")
    code = aloud([loopwright, "standing", "--book", book])
    if code:
        raise Stopped(f"loopwright standing ended with {code}; its message is above.")
    _try_next(
        Path(loopwright).relative_to(ROOT), build, report, (book, half_way), time.monotonic() - steps.begun
    )
    if not look:
        return 0
    print("\nOpening the book as it was half way, when there was something to do. Stop with Ctrl+C;")
    print("nothing that was saved is lost.\n", flush=True)
    return aloud([loopwright, "serve", half_way])


def _try_next(shown: Path, build: str, report: str, books: tuple[str, str], seconds: float) -> None:
    """Say what was made, and what to try on it."""
    book, half_way = books
    print(
        f"\nDone in {seconds:.0f} s. Machine, people and readings are invented."
        f"\n  the machine, as text to edit:      {build}"
        f"\n  its error budget, to look at:      {report}"
        f"\n  the book of its assembly, to try:  {book}"
        f"\n  the same, half way:                {half_way}"
        "\n\nTo open the book in the browser, where all of this is too:"
        f"\n  {shown} serve {half_way}"
        "\n\nHow it came to stand there, state by state, and what a further reading does:"
        f"\n  {shown} history --states --book {book}"
        f"\n  {shown} history --replay --book {book}"
        f"\n  {shown} standing --state 2 --book {book}"
        f"\n  {shown} fitup step 8 --book {book}"
        f'\n  {shown} record column/Z_shoulder 50.003 --gauge "height gauge" --book {book}'
        "\n\nNow change a tolerance in the first file, and try:"
        f"\n  {shown} check {build}"
        f"\n  {shown} budget {build}"
        f"\n  {shown} --help"
    )


def postgresql() -> Path | None:
    """Folder of the programs of an installed PostgreSQL server, the newest one; None where there is none."""
    versions = Path("/usr/lib/postgresql").glob("*/bin")  # where Debian keeps them, off the path
    found = sorted(versions, key=lambda folder: [int(n) for n in re.findall(r"\d+", folder.parent.name)])
    on_path = [Path(program).resolve().parent for program in (shutil.which("initdb"),) if program]
    both = (folder for folder in (*on_path, *reversed(found)) if shutil.which("postgres", path=str(folder)))
    return next((folder for folder in both if shutil.which("initdb", path=str(folder))), None)


def chromium() -> Path | None:
    """An installed Chromium, or None."""
    return next((Path(found) for name in CHROMIUM if (found := shutil.which(name))), None)


def not_run() -> list[tuple[str, bool]]:
    """What cannot be tested on this machine, and whether it must be."""

    def needed(variable: str) -> bool:
        return os.environ.get(variable, "") not in ("", "0")

    missing = [] if postgresql() is not None else [(NO_POSTGRESQL, needed(NEEDS_POSTGRESQL))]
    return missing + ([] if chromium() is not None else [(NO_CHROMIUM, needed(NEEDS_CHROMIUM))])


def _tests(venv: Venv) -> int:
    """Run pytest, and say beforehand what it cannot run."""
    for said, _ in not_run():
        print(said)
    pages = "tests/faces/web"
    if chromium() is None:
        return aloud(venv.module("pytest", "-q", "--durations=5"))
    # a test of a page waits for a browser most of the time; the others run meanwhile
    with tempfile.TemporaryFile() as out:
        command = venv.module("pytest", "-q", "--durations=5", "-p", "no:cacheprovider", pages)
        beside = subprocess.Popen(command, cwd=ROOT, env=environment(), stdout=out, stderr=subprocess.STDOUT)
        try:
            code = aloud(venv.module("pytest", "-q", "--durations=5", f"--ignore={pages}"))
            print(f"── and {pages}, which ran meanwhile", flush=True)
            code |= beside.wait()
        finally:
            beside.kill()
        out.seek(0)
        print(out.read().decode("utf-8", "replace"), flush=True)
    return code


def _wheel_works(venv: Venv) -> int:
    """Build the wheel, install it where no source is in reach, and use it from an empty folder."""
    installed, steps = Venv("wheel", "loopwright", editable=False), Steps(5)
    installed.make(steps)
    with tempfile.TemporaryDirectory(prefix="loopwright-") as name:
        folder = Path(name)
        build = venv.module("hatchling", "build", "-t", "wheel", "-d", name)
        steps.run("building the wheel", lambda tick: quietly(build, tick))
        (wheel,) = folder.glob("*.whl")
        install = installed.pip("install", "--no-deps", "--no-index", "--force-reinstall", str(wheel))
        steps.run("installing the wheel", lambda tick: quietly(install, tick))

        def use(tick: Tick) -> None:
            command = installed.tool("loopwright")
            quietly([command, "--help"], tick, cwd=folder)
            quietly([command, "new", "machine.yaml", "--like", "clock-plate"], tick, cwd=folder)
            quietly([command, "check", "machine.yaml"], tick, cwd=folder)
            quietly([command, "budget", "machine.yaml", "--report", "report.html"], tick, cwd=folder)
            shutil.copy(OLD_BOOK, folder / "old.book")
            quietly([installed.tool("python"), "-c", OPEN_OLD_BOOK], tick, cwd=folder)

        steps.run("using it: --help, new, check, budget, a book of an older version", use)
    return 0


def test() -> int:
    """Run every check that has to pass, in order, and sum them up."""
    venv = Venv("test", "dev")
    venv.make(Steps(3))
    checks: dict[str, Callable[[], int]] = {
        "ruff check": lambda: aloud(venv.module("ruff", "check")),
        "ruff format": lambda: aloud(venv.module("ruff", "format", "--check")),
        "mypy --strict": lambda: aloud(venv.module("mypy", "--strict")),
        "pytest": lambda: _tests(venv),
        "the wheel, tested as installed": lambda: _wheel_works(venv),
    }
    rows = []
    for number, (title, check) in enumerate(checks.items(), 1):
        print(f"\n── {number}/{len(checks)} {title}", flush=True)
        start = time.monotonic()
        try:
            code = check()
        except Stopped as stopped:
            print(stopped)
            code = 1
        rows.append((title, code, time.monotonic() - start))
    print("\n── summary")
    for title, code, seconds in rows:
        print(f"{'FAILED' if code else 'ok':>6}  {seconds:5.0f} s  {title}")
    for said, must in not_run():
        print(f"{'FAILED' if must else 'NOT RUN':>6}           {said}")
    return int(any(must for _, must in not_run()) or any(code for _, code, _ in rows))


def tidy() -> int:
    """Mend and lay out the code the way the checks want it."""
    venv = Venv("test", "dev")
    venv.make(Steps(3))
    return aloud(venv.module("ruff", "check", "--fix", "--quiet")) | aloud(venv.module("ruff", "format"))


def docs() -> int:
    """Write the generated pages anew."""
    venv = Venv("test", "dev")
    venv.make(Steps(3))
    scripts = sorted((ROOT / "scripts").glob("*_page.py"))
    return max(aloud([venv.tool("python"), str(script)]) for script in scripts)


def screens(into: str | None = None) -> int:
    """Have the tests photograph every page: the widest ones for the documentation, or all ``into`` a folder."""
    venv = Venv("test", "dev")
    venv.make(Steps(3))
    with tempfile.TemporaryDirectory(prefix="loopwright-") as name:
        folder = Path(into or name).resolve()
        folder.mkdir(parents=True, exist_ok=True)
        os.environ[SCREENS] = str(folder)
        code = aloud(venv.module("pytest", "-q", "tests/faces/web/test_every_page.py", "-k", "quiet"))
        if into is None and code == 0:
            kept = ROOT / "docs" / "images" / "pages"
            shutil.rmtree(kept, ignore_errors=True)
            kept.mkdir(parents=True)
            for picture in sorted(folder.glob("*-1440.png")):
                shutil.copy(picture, kept / picture.name)
    return code


def lock(upgrade: bool = False) -> int:
    """Compile the lock files (maintainers). Pins that still fit are kept, unless ``upgrade``."""
    uv = shutil.which("uv") or ""
    said = subprocess.run([uv, "--version"], capture_output=True, text=True, check=True).stdout if uv else ""
    if not said.startswith(LOCK_TOOL):
        raise Stopped(f"The locks are compiled with {LOCK_TOOL}; on the path is {said.strip() or 'none'}.")
    env = os.environ | {"UV_CUSTOM_COMPILE_COMMAND": "python3 dev.py lock"}
    common = [uv, "pip", "compile", "pyproject.toml", "--universal", "--python-version", "3.11"]
    common += ["--generate-hashes", "--no-emit-index-url", "--quiet", *(["--upgrade"] if upgrade else [])]
    for name, options in LOCKS.items():
        target = f"requirements/{name}.lock"
        print(target, flush=True)
        subprocess.run([*common, *options, "-o", target], cwd=ROOT, env=env, check=True)
    return 0


def clean() -> int:
    """Remove the environments and the caches. The demo folder is yours and stays."""
    caches = [".venv", "dist", ".mypy_cache", ".ruff_cache", ".pytest_cache", ".hypothesis"]
    found = [ROOT / name for name in caches if (ROOT / name).exists()]
    found += [p for top in ("src", "tests", "scripts") for p in (ROOT / top).rglob("__pycache__")]
    for folder in found:
        shutil.rmtree(folder)
    print(f"removed {len(found)} folders; {DEMO} was left alone")
    return 0


def main() -> int:
    """Read the command line and run what it asks for."""
    sys.stdout.reconfigure(errors="replace")  # type: ignore[union-attr]
    parser = argparse.ArgumentParser(description="Set up and run Loopwright from a fresh copy.")
    commands = parser.add_subparsers(dest="command", required=True, metavar="command")
    demonstrating = commands.add_parser("demo", help="make an example machine and its book, and open it")
    demonstrating.add_argument(
        "--only-files", dest="look", action="store_false", help="make the files, and open no browser"
    )
    commands.add_parser("test", help="run every check: ruff, mypy, pytest, and the wheel as installed")
    commands.add_parser("tidy", help="mend imports and layout of the code")
    commands.add_parser("docs", help="write the generated pages of docs/ anew")
    photographing = commands.add_parser(
        "screens", help="photograph every page for the documentation (needs Chromium)"
    )
    photographing.add_argument(
        "--into", metavar="FOLDER", help="at every width, and not for the documentation"
    )
    commands.add_parser("clean", help="remove .venv and the caches")
    locking = commands.add_parser("lock", help=f"compile the lock files (maintainers; needs {LOCK_TOOL})")
    locking.add_argument("--upgrade", action="store_true", help="take the newest versions that fit")
    asked = vars(parser.parse_args())
    jobs: dict[str, Callable[..., int]] = {
        f.__name__: f for f in (demo, test, tidy, docs, screens, clean, lock)
    }
    try:
        return jobs[asked.pop("command")](**asked)
    except (Stopped, subprocess.CalledProcessError) as stopped:
        print(f"\n{stopped}", file=sys.stderr)
        return 1
    except KeyboardInterrupt:
        print("\nStopped. Run it again and it goes on from a clean state.", file=sys.stderr)
        return 130


if __name__ == "__main__":
    sys.exit(main())
