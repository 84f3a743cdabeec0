"""What to measure next, for the hours that are left."""

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from browsers import Served, Window, serving
from early_books import early
from loopwright.sheets.shown import percent
from loopwright.web.pages.next import gauges_of, is_planned, keep, plan_of
from loopwright.web.views import next as views
from loopwright.web.wording import plural, say
from loopwright.web.work import Reader, Work

Windows = Callable[..., Window]
READER = Reader("Ada")


class Silent:
    """Nobody waits, nobody listens."""

    def progress(self, done: int, wanted: int | None) -> None:
        """Says nothing."""

    def cancelled(self) -> bool:
        """Goes on."""
        return False


@pytest.fixture(scope="module")
def begun(demo_archive: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The book of the invented history before any reading."""
    return early(demo_archive, 2, tmp_path_factory.mktemp("next") / "begun.book")


@pytest.fixture(scope="module")
def work(begun: Path) -> Work:
    """The same, open."""
    return Work(str(begun))


@pytest.fixture(scope="module")
def served(begun: Path) -> Iterator[Served]:
    """The same, served."""
    with serving(begun) as one:
        yield one


def test_every_reading_stands_there_with_what_it_is_worth(work: Work) -> None:
    """Gain, minutes, and a button to the bench for each; those not worth taking behind a lid."""
    found, markup = views.ranked(work), views.ranking(work, READER, 120.0)
    best = found.worthwhile[0]
    assert percent(best.gain) in markup
    assert percent(best.gain_per_minute) in markup
    assert 'href="/bench?of=column%2Ffoot_lean"' in markup
    rest = [w for w in found.ranked if not w.worthwhile]
    assert plural("next.worthless", len(rest)) in markup
    assert markup.count('class="button"') <= len(found.worthwhile) + views.AT_ONCE


def test_a_long_list_is_turned_page_by_page(work: Work) -> None:
    """The second page begins where the first ended, and leads back."""
    rest = [w for w in views.ranked(work).ranked if not w.worthwhile]
    assert len(rest) > views.AT_ONCE
    first, second = views.ranking(work, READER, 120.0), views.ranking(work, READER, 120.0, views.AT_ONCE)
    assert rest[views.AT_ONCE].name not in first
    assert rest[views.AT_ONCE].name in second
    assert 'data-begin="0"' in second


def test_a_plan_says_what_each_reading_brings_and_what_is_left(work: Work) -> None:
    """Until it is made there is a way to make it."""
    assert say("next.again") in views.planned(work, READER, 60.0, False)
    assert views.planned(work, READER, 60.0, True) == ""
    keep(work, READER, "plan", *plan_of(work, READER, 60.0, telling=Silent()))  # type: ignore[arg-type]
    assert is_planned(work, READER, 60.0)
    plan = work.lasting[views.plan_key(work, 60.0)]
    markup = views.planned(work, READER, 60.0, False)
    for worth in plan.readings:
        assert worth.name in markup
        assert percent(worth.gain) in markup
    assert say("next.in_plan") in views.ranking(work, READER, 60.0)


def test_gauges_are_good_enough_or_not(work: Work) -> None:
    """The verdict follows what the study found: what a gauge has, and what the test needs."""
    keep(work, READER, "gauges", *gauges_of(work, READER, telling=Silent()))  # type: ignore[arg-type]
    found, markup = work.lasting[views.gauges_key(work)], views.gauges(work, READER)
    good = sum(g.std is not None and g.gauge is not None and g.now <= g.std for g in found)
    assert markup.count(f"</svg>{say('next.good')}") == good > 0


def test_the_hours_are_planned_and_stay_on_the_device(served: Served, window: Windows) -> None:
    """After the page is opened anew the same hours are planned at once."""
    one = window()
    one.page.goto(f"{served.address}/next")
    one.page.locator(".plan li").first.wait_for()
    one.page.get_by_label(say("next.hours")).fill("20 min")
    one.page.get_by_role("button", name=say("next.make")).click()
    one.page.get_by_role("heading", name="of 20 min").wait_for()
    one.page.reload()
    one.page.get_by_role("heading", name="of 20 min").wait_for()
    assert one.page.get_by_label(say("next.hours")).input_value() == "20 min"
    one.page.get_by_role("link", name=say("next.read_name", name="spindle tram front to back")).first.click()
    one.page.wait_for_url("**/bench?of=spindle%20tram%20front%20to%20back")
    one.is_clean()


def test_hours_that_are_none_are_refused_and_stay_in_the_field(served: Served, window: Windows) -> None:
    """The remedy says how to write them."""
    one = window()
    one.page.goto(f"{served.address}/next")
    one.page.get_by_label(say("next.hours")).fill("soon")
    one.page.get_by_role("button", name=say("next.make")).click()
    one.page.get_by_role("alert").get_by_text("1:30").wait_for()
    assert one.page.get_by_label(say("next.hours")).input_value() == "soon"
