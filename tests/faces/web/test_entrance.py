"""The gate and the way in from the shop's network."""

import http.client
import json
import re
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from browsers import Served, Window, serving
from loopwright.web.people import People

Windows = Callable[..., Window]
PHRASE = "brass plate forty two"


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory, demo_archive: Path) -> Iterator[Served]:
    """A server that is open to the network, with one of each role."""
    book = tmp_path_factory.mktemp("shop") / "clock-plate.book"
    book.write_bytes(demo_archive.read_bytes())
    people = People(book.with_suffix(".people"))
    for name, role in (("Mai", "edit"), ("Ola", "record"), ("Per", "read")):
        people.add(name, PHRASE, role)
    with serving(book, "--lan") as served:
        yield served


def ask(served: Served, method: str, path: str, **headers: str) -> tuple[int, dict[str, str], str]:
    """One request, its headers as given; status, headers and body of the answer."""
    connection = http.client.HTTPConnection("127.0.0.1", served.port, timeout=20)
    connection.putrequest(method, path, skip_host="Host" in headers)
    for name, value in headers.items():
        connection.putheader(name.replace("_", "-"), value)
    connection.endheaders()
    answer = connection.getresponse()
    found = (
        answer.status,
        {k.lower(): v for k, v in answer.getheaders()},
        answer.read().decode("utf-8", "replace"),
    )
    connection.close()
    return found


def test_a_name_that_was_made_to_point_here_is_refused(shown: Served) -> None:
    """A page that reaches this machine under another name carries that name as Host."""
    assert ask(shown, "GET", "/", Host=f"elsewhere.example:{shown.port}")[0] == 403
    assert ask(shown, "GET", "/", Host="localhost:1")[0] == 403
    assert ask(shown, "GET", "/", Host=f"localhost:{shown.port}")[0] == 200


def test_a_page_of_another_site_can_change_nothing(shown: Served) -> None:
    """Its Origin gives it away; without one, a header is wanted that such a page cannot send."""
    own = f"http://localhost:{shown.port}"
    for headers in ({"Origin": "http://elsewhere.example"}, {"Origin": "null"}, {}):
        assert ask(shown, "POST", "/sign-out", **headers)[0] == 403
    assert ask(shown, "POST", "/sign-out", Origin=own)[0] == 303


def test_a_socket_of_another_site_is_refused(shown: Served) -> None:
    """As is one that does not say where it comes from."""
    upgrade = {
        "Connection": "Upgrade",
        "Upgrade": "websocket",
        "Sec_WebSocket_Version": "13",
        "Sec_WebSocket_Key": "dGhlIHNhbXBsZSBub25jZQ==",
    }
    path = "/_nicegui_ws/socket.io/?EIO=4&transport=websocket"
    for headers in ({"Origin": "http://elsewhere.example"}, {}):
        assert ask(shown, "GET", path, **upgrade, **headers)[0] == 403


def test_every_answer_tells_the_browser_what_it_may_not_do(shown: Served) -> None:
    """No frame of another site, no script from elsewhere, no guessing of types."""
    _, headers, _ = ask(shown, "GET", "/")
    assert "frame-ancestors 'none'" in headers["content-security-policy"]
    assert "default-src 'self'" in headers["content-security-policy"]
    assert headers["x-content-type-options"] == "nosniff"


@pytest.mark.parametrize("path", ["/", "/parts", "/book", "/_nicegui/whatever", "/people"])
def test_without_signing_in_only_the_door_is_seen(shop: Served, path: str) -> None:
    """A reader is taken to the door; a program is told to sign in."""
    status, headers, _ = ask(shop, "GET", path, Accept="text/html")
    assert (status, headers["location"].startswith("/sign-in?to=")) == (303, True)
    assert ask(shop, "GET", path)[0] == 401
    status, _, body = ask(shop, "GET", "/api/standing", Accept="text/html")
    assert (status, json.loads(body)["problems"][0]["what"]) == (401, "Sign in first.")


def test_signing_in_needs_the_token_of_the_page(shop: Served) -> None:
    """A form that did not come from our page is shown again."""
    own = f"http://localhost:{shop.port}"
    connection = http.client.HTTPConnection("127.0.0.1", shop.port, timeout=20)
    form = f"name=Mai&passphrase={PHRASE.replace(' ', '+')}&form=made-up"
    connection.request(
        "POST", "/sign-in", form, {"Origin": own, "Content-Type": "application/x-www-form-urlencoded"}
    )
    answer = connection.getresponse()
    assert answer.status == 403
    assert "session" not in (answer.headers["set-cookie"] or "")
    connection.close()


def sign_in(window: Window, served: Served, name: str, phrase: str = PHRASE, to: str = "/") -> None:
    """Goes to a page and signs in on the way."""
    window.page.goto(served.address + to)
    window.page.get_by_label("Name").fill(name)
    window.page.get_by_label("Passphrase").fill(phrase)
    window.page.get_by_role("button", name="Sign in").click()


def test_signing_in_leads_to_the_page_that_was_asked_for(shop: Served, window: Windows) -> None:
    """A wrong passphrase is told, and the name stays; the session is a cookie that no script can read."""
    one = window()
    sign_in(one, shop, "Mai", "wrong wrong wrong", to="/people")
    one.page.get_by_role("alert").get_by_text("do not belong together").wait_for()
    assert one.page.get_by_label("Name").input_value() == "Mai"
    one.page.get_by_label("Passphrase").fill(PHRASE)
    one.page.get_by_role("button", name="Sign in").click()
    one.page.get_by_role("heading", name="Who may come in").wait_for()
    (cookie,) = [c for c in one.context.cookies() if c["name"] == "loopwright_session"]
    assert cookie["httpOnly"]
    assert cookie["sameSite"] == "Lax"
    assert "loopwright_session" not in one.page.evaluate("document.cookie")
    one.page.get_by_text("Name, units, look").click()
    one.page.get_by_role("button", name="Sign out").click()
    one.page.get_by_role("heading", name="Sign in").wait_for()


def test_an_invitation_is_scanned_and_lets_somebody_in_as_what_it_says(shop: Served, window: Windows) -> None:
    """One who may edit makes it; a phone opens what it says; the newcomer may read and no more."""
    one = window()
    sign_in(one, shop, "Mai", to="/people")
    one.page.get_by_label("They may").select_option("read")
    one.page.get_by_role("button", name="Make an invitation").click()
    scanned = one.page.locator(".qr").get_attribute("aria-label") or ""
    found = re.search(r"http://[\w.:]+(/join\?code=[A-Z0-9]{12})", scanned)
    assert found is not None
    phone = window(390, touch=True)
    phone.page.goto(shop.address + found[1])
    phone.page.get_by_label("Name").fill("Siv")
    phone.page.get_by_label("Passphrase").fill(PHRASE)
    phone.page.get_by_role("button", name="Join").click()
    phone.page.wait_for_selector("#content h1")
    phone.page.goto(f"{shop.address}/people")
    phone.page.get_by_role("heading", name="Who may come in").wait_for()
    assert phone.page.get_by_role("button", name="Make an invitation").count() == 0
    # a browser that asks for it all the same is refused by the server
    phone.page.evaluate("loopwright.act('people_invite', {role: 'edit'}, null)")
    phone.page.get_by_text("Your role is 'read'").wait_for()
    phone.is_clean()


def test_on_this_machine_only_people_says_how_to_open_the_book(shown: Served, window: Windows) -> None:
    """With the cautions."""
    one = window()
    one.page.goto(f"{shown.address}/people")
    one.page.get_by_text("loopwright serve BOOK --lan").wait_for()
    one.page.get_by_text("never over the internet").wait_for()
    one.is_clean()
