"""The car that is ready to be handed over."""

from tests.handover.ready_car import checked, job, second_actor, signed_off, version  # noqa: F401 - fixtures
