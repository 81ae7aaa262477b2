"""Own profiles, in every database: whose they are, who sees them, and what two writers at once come to."""

from __future__ import annotations

import threading

import pytest

from worker.store import KeptProfile, NewProfile, ProfileTaken, Store, TooManyProfiles
from worker.store.profiles import Agreed

ISLAND = "tern island"


def anything(_: KeptProfile | None) -> None:
    """No condition."""


def put(
    store: Store,
    owner: str,
    profile_id: str = "harbour-press",
    *,
    circle: str | None = None,
    text: str = "x",
    most: int = 9,
    agreed: Agreed = anything,
) -> tuple[KeptProfile, bool]:
    new = NewProfile(owner=owner, id=profile_id, circle=circle, toml=text, json="{}")
    return store.profiles.put(new, most=most, agreed=agreed)


def seen(store: Store, owner: str, circle: str | None = ISLAND) -> dict[str, str]:
    return {row.id: row.owner for row in store.profiles.known_to(owner, circle)}


def test_a_private_one_is_its_owners_alone(store: Store) -> None:
    assert put(store, "mem_a")[1] is True
    assert seen(store, "mem_a") == {"harbour-press": "mem_a"}
    assert seen(store, "mem_b") == {}
    assert store.profiles.get("harbour-press", "mem_b", ISLAND) is None


def test_a_shared_one_is_seen_by_the_circle_and_by_no_other(store: Store) -> None:
    put(store, "mem_a", circle=ISLAND)
    assert seen(store, "mem_b") == {"harbour-press": "mem_a"}
    assert seen(store, "mem_c", "mainland") == {}
    assert store.profiles.own("harbour-press", "mem_b") is None


def test_an_own_one_goes_before_a_shared_one(store: Store) -> None:
    put(store, "mem_b", text="own")
    put(store, "mem_a", circle=ISLAND, text="shared")
    found = store.profiles.get("harbour-press", "mem_b", ISLAND)
    assert found is not None
    assert (found.owner, found.toml) == ("mem_b", "own")
    assert seen(store, "mem_b") == {"harbour-press": "mem_b"}


def test_an_id_is_shared_once_within_a_circle(store: Store) -> None:
    put(store, "mem_a", circle=ISLAND)
    with pytest.raises(ProfileTaken):
        put(store, "mem_b", circle=ISLAND)
    assert put(store, "mem_b", circle="mainland")[1] is True


def test_it_is_put_in_place_of_the_one_before(store: Store) -> None:
    first, _ = put(store, "mem_a", text="one")
    second, made = put(store, "mem_a", text="two", circle=ISLAND)
    assert made is False
    assert first.mark != second.mark
    kept = store.profiles.own("harbour-press", "mem_a")
    assert kept is not None
    assert (kept.toml, kept.shared, kept.created_at) == ("two", "circle", first.created_at)


def test_nobody_keeps_more_than_so_many(store: Store) -> None:
    for number in range(3):
        put(store, "mem_a", f"press-{number}", most=3)
    with pytest.raises(TooManyProfiles):
        put(store, "mem_a", "press-3", most=3)
    assert put(store, "mem_a", "press-0", most=3, text="anew")[1] is False
    assert put(store, "mem_b", "press-3", most=3)[1] is True


def test_only_ones_own_is_deleted(store: Store) -> None:
    put(store, "mem_a", circle=ISLAND)
    assert store.profiles.delete("harbour-press", "mem_b", agreed=anything) is False
    assert store.profiles.delete("harbour-press", "mem_a", agreed=anything) is True
    assert seen(store, "mem_a") == {}


def test_all_of_an_owner_go_at_once(store: Store) -> None:
    put(store, "mem_a")
    put(store, "mem_a", "mole-press", circle=ISLAND)
    put(store, "mem_b")
    assert store.profiles.delete_all("mem_a") == 2
    assert seen(store, "mem_a") == {}
    assert seen(store, "mem_b") == {"harbour-press": "mem_b"}


def test_of_many_that_make_the_same_one_at_once_one_does(store: Store) -> None:
    """Each asks that there be none yet, as ``If-None-Match: *`` does (RFC 9110, section 13.1.2)."""

    class Exists(Exception):
        pass

    def none_yet(row: KeptProfile | None) -> None:
        if row is not None:
            raise Exists

    made, refused = [], []
    start = threading.Barrier(6)

    def try_to(number: int) -> None:
        start.wait()
        try:
            made.append(put(store, "mem_a", text=str(number), agreed=none_yet))
        except Exists:
            refused.append(number)

    threads = [threading.Thread(target=try_to, args=(number,)) for number in range(6)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert (len(made), len(refused)) == (1, 5)
