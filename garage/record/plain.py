"""Plain data: what JSON holds. Papers, copies and published files are made from it, and it is kept with them."""

import json
from collections.abc import Mapping
from typing import Any

from django.core.serializers.json import DjangoJSONEncoder

Plain = dict[str, Any]


def as_plain(facts: Mapping[str, Any]) -> Plain:
    """`facts` as they come back out of JSON: moments, days and money as text, so that no amount is ever a float."""
    plain: Plain = json.loads(json.dumps(facts, cls=DjangoJSONEncoder))
    return plain
