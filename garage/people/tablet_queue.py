"""Answering the queue of a tablet: one message, from whoever is signed in there."""

from collections.abc import Callable
from typing import IO

from django.http import HttpRequest, JsonResponse

from garage.people.actor import actor_of
from garage.record.actor import Actor
from garage.record.queued import AskedFirstError, QueuedMessage
from garage.record.refusals import RuleRefusedError

# Puts a message, and the photograph that came with it, into the record.
Take = Callable[[QueuedMessage, IO[bytes] | None, Actor], None]


def answer_message(request: HttpRequest, take: Take, *, no_permission: str) -> JsonResponse:
    """Take one message of a tablet's queue into the record. The same message again is answered as before.

    200: it is in the record. 401: sign in first (said by the middleware). 409: another person made it. 403, 413, 422:
    refused, with the sentence why, and with `choices` where its maker is asked first. Anything else is no answer, and
    the tablet keeps the message.
    """
    try:
        message, upload = _message_of(request)
        if message.maker != request.user.pk:
            return JsonResponse({"problem": "Made by another person. Waiting until they sign in."}, status=409)
        if not request.user.has_perm("garage.record_readings"):
            return refused_message(no_permission, status=403)
        take(message, upload, actor_of(request))
    except AskedFirstError as asked:
        choices = [{"words": choice.words, "fields": choice.fields} for choice in asked.choices]
        return JsonResponse({"problem": str(asked), "choices": choices}, status=422)
    except RuleRefusedError as refusal:
        return refused_message(str(refusal))
    return JsonResponse({"kept": str(message.id)})


def refused_message(problem: str, status: int = 422) -> JsonResponse:
    return JsonResponse({"problem": problem}, status=status)


def _message_of(request: HttpRequest) -> tuple[QueuedMessage, IO[bytes] | None]:
    if request.content_type == "application/json":
        return QueuedMessage.read(request.body), None
    return QueuedMessage.read(request.POST.get("message", "")), request.FILES.get("photograph")
