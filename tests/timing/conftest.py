"""How hypothesis looks for counter-examples in the tests of `timing`."""

from hypothesis import HealthCheck, settings

settings.register_profile(
    "timing",
    # A busy machine is no fault of the code: speed is a matter for tests/bench.
    deadline=None,
    # The mutation run executes a test many times in one process, on a new instance of its class each time.
    suppress_health_check=[HealthCheck.differing_executors],
)
# The mutation run (`--hypothesis-profile=mutation`) tries thousands of wrong programs: few examples, the same for each.
settings.register_profile("mutation", settings.get_profile("timing"), max_examples=10, derandomize=True, database=None)
settings.load_profile("timing")
