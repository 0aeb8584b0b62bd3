"""The room of the bench stands on the maps, and so do its tests."""

from tests.maps.conftest import absolute, at_the_bench, draft, keyed_in, released, tampered

__all__ = ["absolute", "at_the_bench", "draft", "keyed_in", "released", "tampered"]
