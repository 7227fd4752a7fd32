"""A phone that belongs to a ledger of a test, and pushes through the real application."""

import json
from typing import Any

from flask.testing import FlaskClient

from coop.ids import Subject
from coop.store import devices
from coop.store.tokens import new_token
from tests.support.opened import Opened
from tests.support.phone import Phone, Transport
from tests.support.pushed import assert_answer_shape

PUSH = "/device/push"
SAME = {"Sec-Fetch-Site": "same-origin", "Accept": "application/json"}


def enrolled(
    house: Opened, first: str = "kahu", *, shared: bool = False, name: str = "pocket"
) -> tuple[Phone, FlaskClient]:
    """Enrol a phone for a member: the ledger knows it, the browser holds its secret."""
    device = house.say("device.enrolled", first, name=name, shared="yes" if shared else "no")
    token = new_token()
    with house.store.writing() as desk:
        devices.enrol(
            desk.connection,
            device_id=Subject(device),
            token=token,
            agent="",
            now=house.moment,
        )
    client = house.app().test_client()
    client.set_cookie("coop-device", token, path="/device/")
    phone = Phone(
        id=device,
        ledger=house.store.ledger,
        author=house.members[first].member,
        new_id=house.new_id,
    )
    return phone, client


def post_push(client: FlaskClient, message: Any, **headers: str) -> Any:
    """Send a push as the script does; the answer has the form that a phone reads."""
    answer = client.post(
        PUSH,
        data=json.dumps(message),
        content_type="application/json",
        headers=SAME | headers,
    )
    assert_answer_shape(answer)
    return answer


def over(client: FlaskClient) -> Transport:
    """Return the transport of a phone's pushes; anything but 200 is no answer."""

    def send(message: dict[str, Any]) -> dict[str, Any] | None:
        answer = post_push(client, message)
        return answer.get_json() if answer.status_code == 200 else None

    return send
