"""Every event that the trail names, in one list: what is not here cannot be written.

The values are stored for ever. A better word is a new label on the screen, never a new value.
"""

from enum import StrEnum


class Event(StrEnum):
    """What happened. Grouped by the room in which it happens."""

    # the whole book
    BOOK_EXPORTED = "book-exported"
    BOOK_BROUGHT_IN = "book-brought-in"
    # customers, cars, units, people, the workshop
    ARRIVALS_BROUGHT_IN = "arrivals-brought-in"
    ARRIVALS_UNDONE = "arrivals-undone"
    MADE = "made"
    CHANGED = "changed"
    WORKSHOP_SET_UP = "workshop-set-up"
    ALONE_TODAY = "alone-today"
    ABSENCE_ENTERED = "absence-entered"
    ABSENCE_CANCELLED = "absence-cancelled"
    PERSON_ADDED = "person-added"
    PASSWORD_CHANGED = "password-changed"  # noqa: S105 - the name of an event
    SIGNED_OUT_ELSEWHERE = "signed-out-elsewhere"
    SECOND_FACTOR_SET = "second-factor-set"
    SECOND_FACTOR_REMOVED = "second-factor-removed"
    RECOVERY_CODES_MADE = "recovery-codes-made"
    RECOVERY_CODE_USED = "recovery-code-used"
    PIN_CHANGED = "pin-changed"
    PIN_LOCKED = "pin-locked"
    TASK_TRIED_AGAIN = "task-tried-again"
    UNIT_TYPE_DESCRIBED = "unit-type-described"
    UNIT_TYPE_REVISED = "unit-type-revised"
    UNIT_TYPE_WITHDRAWN = "unit-type-withdrawn"
    UNIT_TAKEN_OUT = "unit-taken-out"
    UNIT_PUT_IN = "unit-put-in"
    UNIT_SHELVED = "unit-shelved"
    CUSTOMER_COPY_MADE = "customer-copy-made"
    CUSTOMER_ERASED = "customer-erased"
    KEPT_ERASED = "kept-erased"
    # the job
    BOOKED = "booked"
    BOOKING_CHANGED = "booking-changed"
    BOOKING_PHOTOGRAPH = "booking-photograph"
    STAGE_PASSED = "stage-passed"
    SENT_BACK = "sent-back"
    PUT_ASIDE = "put-aside"
    TAKEN_UP = "taken-up"
    KIND_CHANGED = "kind-changed"
    UNIT_CHOSEN = "unit-chosen"
    NOTED = "noted"
    CAUTIONS_READ = "cautions-read"
    # the week
    FEED_MADE = "feed-made"
    FEED_WITHDRAWN = "feed-withdrawn"
    REMINDED = "reminded"
    # check-lists
    LIST_MADE = "list-made"
    LIST_CHANGED = "list-changed"
    LIST_DRAFT_BEGUN = "list-draft-begun"
    LIST_DRAFT_DROPPED = "list-draft-dropped"
    LIST_ITEM_ADDED = "list-item-added"
    LIST_ITEM_CHANGED = "list-item-changed"
    LIST_ITEM_MOVED = "list-item-moved"
    LIST_ITEM_REMOVED = "list-item-removed"
    LIST_PUBLISHED = "list-published"
    LIST_PUT_IN = "list-put-in"
    SHEET_BEGUN = "sheet-begun"
    SHEET_ENTRY = "sheet-entry"
    SHEET_PHOTOGRAPH = "sheet-photograph"
    SHEET_SECONDED = "sheet-seconded"
    SHEET_MOVED = "sheet-moved"
    RECORD_CORRECTED = "record-corrected"
    # inspection
    SWEEP_READ = "sweep-read"
    SWEEP_WITHDRAWN = "sweep-withdrawn"
    MARK_CHECKED = "mark-checked"
    COMPRESSION_READ = "compression-read"
    ENGINE_JUDGED = "engine-judged"
    # strobe
    SESSION_BEGUN = "sitting-begun"
    STROBE_READ = "strobe-read"
    READING_WITHDRAWN = "reading-withdrawn"
    CLAMPED = "clamped"
    # maps
    MAP_STARTED = "map-started"
    MAP_CHANGED = "map-changed"
    MAP_RELEASED = "map-released"
    MAP_SET_ASIDE = "map-set-aside"
    MAP_READ_BACK = "map-read-back"
    CURVE_KEPT = "pattern-kept"
    CURVE_RETIRED = "pattern-retired"
    # road test
    RUN_BEGUN = "run-begun"
    ROAD_NOTE = "road-note"
    NOTE_WITHDRAWN = "note-withdrawn"
    RUN_ENDED = "run-ended"
    # documents and handover
    DOCUMENT_ISSUED = "document-issued"
    LINK_MADE = "link-made"
    LINKS_REVOKED = "links-revoked"
    SECOND_LOOK_FAILED = "second-look-failed"
    SIGNED_OFF = "signed-off"
    # costs
    COST_ENTERED = "cost-entered"
    COST_WITHDRAWN = "cost-withdrawn"
    TIMER_STARTED = "timer-started"
    TIMER_STOPPED = "timer-stopped"
    # stock
    STOCK_CHANGED = "stock-changed"
    # quotes
    QUOTE_SENT = "quote-sent"
    QUOTE_ANSWERED = "quote-answered"
    USUAL_PARTS_SET = "usual-parts-set"
    # bills
    VAT_RATE_ADDED = "vat-rate-added"
    VAT_RATE_RETIRED = "vat-rate-retired"
    BILL_ISSUED = "bill-issued"
    BILL_CREDITED = "bill-credited"
    PAYMENT_ENTERED = "payment-entered"
    PAYMENT_WITHDRAWN = "payment-withdrawn"
