"""Writing check-lists in the app, and the lists that come along."""

import uuid

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import DatabaseError, IntegrityError, transaction
from django.utils import timezone

from jobs.checklists import editor_actions as actions
from jobs.checklists.applies import check_rule
from jobs.checklists.models import ChecklistItem, ChecklistTemplate, SheetKind, TemplateRevision
from jobs.checklists.photographs import NOT_READABLE
from jobs.checklists.shipped import shipped_lists
from jobs.checklists.shipped.spec import Section, ShippedList, choice, measure, tick
from tests.checklists.factories import photograph, published_list, put_in_shipped_lists, signed_by
from tests.pages import assert_not_open

pytestmark = pytest.mark.django_db


def order(revision):
    return list(revision.items.values_list("section", "key"))


def item_form(**values):
    return {
        "idempotency_key": str(uuid.uuid4()),
        "section": "Wiring",
        "text": "Fuse fitted",
        "kind": "tick",
        "decimals": "1",
        **values,
    }


@pytest.fixture
def draft(owner):
    rows = [{"key": "a", "section": "One"}, {"key": "b", "section": "One"}, {"key": "c", "section": "Two"}]
    return actions.begin_draft(template=published_list(rows).template, actor=signed_by(owner))


def test_the_owner_writes_a_list_from_nothing_to_its_first_sheet(owner, browser_of):
    client = browser_of(owner)
    made = {"idempotency_key": str(uuid.uuid4()), "name": "Twin-plug heads", "kind": "fitting", "rule_cylinders": ["2"]}
    address = client.post("/check-lists/new/", made)["Location"]
    client.post(f"{address}items/new/", item_form(kind="measure", text="Coil", unit="ohm", low="1.35", high="1.65"))
    client.post(f"{address}items/new/", item_form(rule_earth_polarity=["positive"], rule_system_volts=["6"]))
    client.post(f"{address}publish/", {"reason": "first list for twin-plug heads"})
    revision = TemplateRevision.objects.get(template__name="Twin-plug heads")
    coil, fuse = revision.items.all()
    assert revision.published_at is not None
    assert revision.template.suits == {"cylinders": [2]}
    assert (coil.low, coil.high, coil.unit) == (1.35, 1.65, "ohm")
    assert fuse.applies == {"earth_polarity": ["positive"], "system_volts": [6]}


@pytest.mark.parametrize("role", ["mechanic", "front_desk", "stranger"])
def test_only_who_may_edit_check_lists_does(role, request, draft, browser_of):
    client = browser_of(request.getfixturevalue(role))
    for address in ("/check-lists/", "/check-lists/new/", f"/check-lists/revisions/{draft.pk}/"):
        assert_not_open(client.get(address))
    assert_not_open(client.post(f"/check-lists/revisions/{draft.pk}/publish/", {"reason": "x"}))
    draft.refresh_from_db()
    assert draft.published_at is None


def test_a_draft_begins_as_a_copy_with_the_same_keys(draft):
    assert (draft.number, order(draft)) == (2, [("One", "a"), ("One", "b"), ("Two", "c")])


def test_there_is_one_draft_at_a_time(draft, owner):
    assert actions.begin_draft(template=draft.template, actor=signed_by(owner)) == draft
    with pytest.raises(IntegrityError), transaction.atomic():
        TemplateRevision.objects.create(template=draft.template, number=3, made_at=timezone.now())


@pytest.mark.parametrize(
    ("key", "up", "expected"),
    [
        ("b", True, [("One", "b"), ("One", "a"), ("Two", "c")]),
        ("a", False, [("One", "b"), ("One", "a"), ("Two", "c")]),
        ("a", True, [("One", "a"), ("One", "b"), ("Two", "c")]),
        # over the border of its section it joins the next one, and keeps its place
        ("b", False, [("One", "a"), ("Two", "b"), ("Two", "c")]),
        ("c", True, [("One", "a"), ("One", "b"), ("One", "c")]),
    ],
)
def test_an_item_moves_one_place(draft, key, up, expected, owner):
    actions.move_item(actor=signed_by(owner), item=draft.items.get(key=key), up=up)
    assert order(draft) == expected


def test_a_section_moves_as_a_whole(draft, owner):
    actions.move_section(actor=signed_by(owner), draft=draft, title="Two", up=True)
    assert order(draft) == [("Two", "c"), ("One", "a"), ("One", "b")]


def test_a_new_item_joins_the_end_of_its_section(draft, owner):
    actions.add_item(
        actor=signed_by(owner),
        draft=draft,
        section="One",
        idempotency_key=uuid.uuid4(),
        kind="tick",
        text="Relay fitted",
    )
    assert order(draft) == [("One", "a"), ("One", "b"), ("One", "relay-fitted"), ("Two", "c")]


def test_a_key_that_an_earlier_revision_used_is_not_given_to_another_item(draft, owner):
    actions.remove_item(actor=signed_by(owner), item=draft.items.get(key="a"))
    made = actions.add_item(
        actor=signed_by(owner), draft=draft, section="One", idempotency_key=uuid.uuid4(), kind="tick", text="A"
    )
    assert made.key == "a-2"


def test_an_item_sent_twice_is_one(draft, owner, browser_of):
    client, sent = browser_of(owner), item_form()
    for _ in range(2):
        client.post(f"/check-lists/revisions/{draft.pk}/items/new/", sent)
    assert draft.items.filter(text="Fuse fitted").count() == 1


def test_nothing_goes_off_a_draft_before_the_owner_has_said_so(draft, owner, browser_of):
    client, item = browser_of(owner), draft.items.get(key="b")
    page = client.get(f"/check-lists/revisions/{draft.pk}/")
    address = f"/check-lists/items/{item.pk}/remove/"
    assert f'href="{address}"' in page.text
    assert f'action="{address}"' not in page.text
    asked = client.get(address)
    assert "Remove ‘B’ from the draft" in asked.text
    assert f'href="/check-lists/revisions/{draft.pk}/#item-b"' in asked.text  # back to where it stands
    assert order(draft) == [("One", "a"), ("One", "b"), ("Two", "c")]
    answer = client.post(address)
    assert order(draft) == [("One", "a"), ("Two", "c")]
    assert answer["Location"].endswith(f"/{draft.pk}/#item-c")  # the list goes on where one was


def test_the_last_item_of_a_draft_goes_off_and_leads_back_to_the_list(draft, owner, browser_of):
    answer = browser_of(owner).post(f"/check-lists/items/{draft.items.get(key='c').pk}/remove/")
    assert answer["Location"] == f"/check-lists/revisions/{draft.pk}/"


def test_an_item_of_a_published_list_stays_and_the_owner_is_told_why(draft, owner, browser_of):
    actions.publish(draft=draft, reason="as it is", actor=signed_by(owner))
    answer = browser_of(owner).post(f"/check-lists/items/{draft.items.get(key='b').pk}/remove/", follow=True)
    assert "never changes" in answer.text
    assert order(draft) == [("One", "a"), ("One", "b"), ("Two", "c")]


def test_what_is_published_never_changes(draft, owner):
    actions.publish(draft=draft, reason="as it is", actor=signed_by(owner))
    item = draft.items.first()
    for action in (
        lambda: actions.move_item(actor=signed_by(owner), item=item, up=False),
        lambda: actions.remove_item(actor=signed_by(owner), item=item),
        lambda: actions.edit_item(actor=signed_by(owner), item=item, row_version=1, section="One", text="Other"),
        lambda: actions.add_item(
            actor=signed_by(owner), draft=draft, section="One", idempotency_key=uuid.uuid4(), kind="tick", text="More"
        ),
        lambda: actions.publish(draft=draft, reason="again", actor=signed_by(owner)),
        lambda: actions.drop_draft(actor=signed_by(owner), draft=draft),
    ):
        with pytest.raises(actions.ListRuleError, match="never changes"):
            action()
    with pytest.raises(DatabaseError, match="kept for ever"), transaction.atomic():
        ChecklistItem.objects.filter(pk=item.pk).update(high=99)


def test_an_empty_list_is_not_published(owner):
    made = actions.create_template(
        name="Empty", kind=SheetKind.FITTING, suits={}, idempotency_key=uuid.uuid4(), actor=signed_by(owner)
    )
    with pytest.raises(actions.ListRuleError, match="empty list"):
        actions.publish(draft=made.revisions.get(), reason="hurry", actor=signed_by(owner))


def test_dropping_a_draft_keeps_what_is_published(draft, owner):
    actions.drop_draft(actor=signed_by(owner), draft=draft)
    assert [revision.number for revision in TemplateRevision.objects.all()] == [1]


@pytest.mark.parametrize(
    ("values", "sentence"),
    [
        ({"kind": "measure"}, "A measure needs its unit."),
        ({"kind": "measure", "unit": "V", "low": "5", "high": "4"}, "Must be 5 or more, the lowest."),
        ({"kind": "choice", "choices": "sound"}, "at least two lines"),
        ({"kind": "choice", "choices": "sound\nworn", "good_choices": "perfect"}, "is not one of the choices"),
        ({"text": ""}, "Fill this in."),
        ({"decimals": "9"}, "Must be between 0 and 4."),
        ({"rule_system_volts": ["24"]}, "Choose from the list"),
    ],
)
def test_an_item_that_makes_no_sense_comes_back_with_the_reason_beside_the_field(
    draft, owner, browser_of, values, sentence
):
    answer = browser_of(owner).post(f"/check-lists/revisions/{draft.pk}/items/new/", item_form(**values))
    assert answer.status_code == 422
    assert sentence in answer.text
    assert draft.items.count() == 3


def test_two_who_write_one_item_see_both_texts_and_lose_none(draft, owner, browser_of):
    item = draft.items.get(key="a")
    first, second = browser_of(owner), browser_of(owner)
    address = f"/check-lists/items/{item.pk}/"
    sent = item_form(section="One", row_version="1")
    assert first.post(address, sent | {"text": "Fuse by the battery"}).status_code == 302
    answer = second.post(address, sent | {"text": "Fuse by the switch"})
    assert answer.status_code == 422
    assert "Fuse by the battery" in answer.text
    assert "Fuse by the switch" in answer.text
    item.refresh_from_db()
    assert item.text == "Fuse by the battery"


def test_a_picture_of_an_item_is_checked_and_served(draft, owner, mechanic, browser_of):
    picture = SimpleUploadedFile("where.png", photograph(format="PNG"), content_type="image/png")
    browser_of(owner).post(f"/check-lists/revisions/{draft.pk}/items/new/", item_form(picture_file=picture))
    item = draft.items.get(text="Fuse fitted")
    served = browser_of(mechanic).get(f"/jobs/item-pictures/{item.pk}/")
    assert served["Content-Type"] == "image/jpeg"
    assert b"".join(served.streaming_content).startswith(b"\xff\xd8")
    script = SimpleUploadedFile("where.png", b"<svg onload=alert(1)>", content_type="image/png")
    answer = browser_of(owner).post(f"/check-lists/revisions/{draft.pk}/items/new/", item_form(picture_file=script))
    assert NOT_READABLE in answer.text


def test_a_list_is_renamed_and_retired_once_by_the_edition_one_saw(owner, browser_of):
    template = published_list([{"key": "a"}], name="Old name").template
    client, address = browser_of(owner), f"/check-lists/{template.pk}/edit/"
    assert client.post(address, {"name": "New name", "row_version": "1", "retired": "on"}).status_code == 302
    answer = client.post(address, {"name": "Third name", "row_version": "1"})
    assert answer.status_code == 422
    assert "New name" in answer.text
    template.refresh_from_db()
    assert (template.name, template.retired) == ("New name", True)


def test_two_lists_do_not_share_a_name(owner, browser_of):
    published_list([{"key": "a"}], name="Points stay")
    answer = browser_of(owner).post(
        "/check-lists/new/", {"idempotency_key": str(uuid.uuid4()), "name": "points stay", "kind": "fitting"}
    )
    assert answer.status_code == 422
    assert "A list named" in answer.text


class TestShipped:
    def test_every_shipped_list_reads_and_asks_only_for_facts_a_car_has(self):
        """A rule that asks for anything else is refused by `check_rule`."""
        assert all(shipped.items for shipped in shipped_lists())
        for shipped in shipped_lists():
            for item in shipped.items:
                check_rule(dict(item.applies or {}))
            check_rule(dict(shipped.suits or {}))

    def test_every_measure_and_hold_point_that_comes_along_says_where_its_limits_come_from(self):
        for shipped in shipped_lists():
            for item in shipped.items:
                assert item.source or (item.low is None and item.high is None), item.key

    def test_putting_the_lists_in_twice_is_once(self):
        assert put_in_shipped_lists()
        before = ChecklistItem.objects.count()
        assert put_in_shipped_lists() == []
        assert ChecklistItem.objects.count() == before

    def test_a_list_the_workshop_renamed_is_found_again(self):
        put_in_shipped_lists()
        count = ChecklistTemplate.objects.count()
        template = ChecklistTemplate.objects.first()
        template.name = "Our own words"
        template.save()
        assert put_in_shipped_lists() == []
        assert ChecklistTemplate.objects.count() == count

    def test_a_newer_edition_is_published_where_the_workshop_left_the_old_one_alone(self, monkeypatch):
        ships(monkeypatch, tick("a", "Battery off"))
        ships(monkeypatch, tick("a", "Battery off"), tick("b", "Fuse fitted"))
        newest = TemplateRevision.objects.first()
        assert (newest.number, newest.published_at is not None, newest.items.count()) == (2, True, 2)

    def test_a_newer_edition_is_a_draft_where_the_workshop_wrote_its_own(self, monkeypatch, owner):
        ships(monkeypatch, tick("a", "Battery off"))
        own = actions.begin_draft(template=ChecklistTemplate.objects.get(), actor=signed_by(owner))
        actions.publish(draft=own, reason="our order", actor=signed_by(owner))
        ships(monkeypatch, tick("a", "Battery off"), tick("b", "Fuse fitted"))
        newest = TemplateRevision.objects.first()
        assert (newest.number, newest.published_at) == (3, None)

    @pytest.mark.parametrize(
        ("item", "sentence"),
        [
            (lambda: measure("x", "X", "", 1, 2), "needs its unit"),
            (lambda: measure("x", "X", "V", 3, 2), "low 3 is above high 2"),
            (lambda: choice("x", "X", []), "has choices"),
            (lambda: choice("x", "X", ["a", "b"], ["c"]), "not among the choices"),
            (lambda: tick("x", "X", low=1.0), "only a measure has limits"),
        ],
    )
    def test_a_slip_in_a_shipped_list_is_said_when_it_is_read(self, item, sentence):
        with pytest.raises(ValueError, match=sentence):
            item()


def ships(monkeypatch, *items):
    shipped = ShippedList(key="list", name="List", kind=SheetKind.FITTING, sections=(Section("One", items),))
    monkeypatch.setattr("jobs.checklists.shipped.shipped_lists", lambda: [shipped])
    put_in_shipped_lists()


def test_a_draft_that_somebody_threw_away_takes_no_item_and_says_so(owner):
    revision = published_list([{"key": "fuse"}])
    draft = actions.begin_draft(template=revision.template, actor=signed_by(owner))
    actions.drop_draft(actor=signed_by(owner), draft=TemplateRevision.objects.get(pk=draft.pk))
    with pytest.raises(actions.ListRuleError, match="discarded"):
        actions.publish(draft=draft, reason="relay", actor=signed_by(owner))
