"""What a column of a list can hold, and a guess from the word above it."""

import hashlib
import json
import re
import unicodedata
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Holds:
    """Something of a customer or car that a column can hold, and the header words by which it is guessed."""

    key: str
    label: str
    words: tuple[str, ...]
    several: bool = False  # more than one column may hold it


OF_CUSTOMERS = (
    Holds("name", "Customer’s name", (
        "name", "customer", "customer name", "customers name", "client", "client name", "owner", "owner name",
        "owners name", "full name", "keeper", "contact", "contact name",
    )),
    Holds("first_name", "Customer’s first name", (
        "first name", "firstname", "forename", "given name", "christian name",
    )),
    Holds("surname", "Customer’s surname", ("surname", "last name", "lastname", "family name")),
    Holds("phone", "Phone", (
        "phone", "phone number", "phone no", "tel", "tel no", "mobile",
        "mobile number", "mobile phone", "mob", "cell", "cell phone", "contact number", "customer phone",
    )),
    Holds("email", "Email", ("email", "e mail", "mail", "email address", "e mail address", "customer email")),
    Holds("address", "Address", (
        "address", "address 1", "address 2", "address 3", "address line 1", "address line 2", "address line 3",
        "street", "road", "town", "city", "county", "state", "postcode", "post code", "zip", "zip code",
        "postal code", "country", "customer address",
    ), several=True),
    Holds("customer_notes", "Notes on the customer", (
        "customer notes", "client notes", "customer comments", "customer remarks",
    ), several=True),
)  # fmt: skip
OF_CARS = (
    Holds("registration", "Registration", (
        "registration", "registration number", "registration no", "reg", "reg no", "reg number", "plate",
        "number plate", "licence plate", "license plate", "plate number", "vrm", "vrn", "index number",
    )),
    Holds("maker", "Make", ("make", "maker", "marque", "manufacturer", "brand", "car make", "vehicle make")),
    Holds("model", "Model", ("model", "car model", "type", "vehicle model", "variant")),
    Holds("year", "Year", (
        "year", "model year", "year built", "year of manufacture", "built", "car year", "first registered",
    )),
    Holds("chassis_number", "Chassis number", (
        "chassis", "chassis number", "chassis no", "vin", "vin number", "frame number", "car number",
    )),
    Holds("engine_number", "Engine number", ("engine number", "engine no", "engine serial")),
    Holds("cylinders", "Cylinders", (
        "cylinders", "cyl", "cyls", "number of cylinders", "no of cylinders", "cylinder count",
    )),
    Holds("displacement", "Displacement, as written, into the car’s notes", (
        "displacement", "capacity", "engine capacity", "engine size", "cc", "ccm", "cubic capacity", "litres",
        "liters", "cubic inches", "cu in", "cid", "engine cc", "displacement cc", "capacity cc",
    )),
    Holds("car_notes", "Notes on the car", (
        "notes", "note", "comments", "comment", "remarks", "car notes", "vehicle notes", "history",
    ), several=True),
)  # fmt: skip
EVERYTHING = {one.key: one for one in (*OF_CUSTOMERS, *OF_CARS)}
WHO = frozenset({"name", "first_name", "surname", "phone", "email"})
CAR_KEYS = frozenset(one.key for one in OF_CARS)
_BY_WORD = {word: one.key for one in EVERYTHING.values() for word in one.words}


def guessed(header: list[str]) -> list[str]:
    """For each column the key of what it seems to hold; empty where its word says nothing."""
    found: list[str] = []
    for word in header:
        key = _BY_WORD.get(_plain(word), "")
        taken = key in found and not EVERYTHING[key].several if key else False
        found.append("" if taken else key)
    if not CAR_KEYS & set(found) - {"car_notes"}:  # plain notes in a list of people are about them
        found = ["customer_notes" if key == "car_notes" else key for key in found]
    return found


def _plain(word: str) -> str:
    """The word without accents, marks and capitals."""
    bare = "".join(letter for letter in unicodedata.normalize("NFKD", word) if not unicodedata.combining(letter))
    plain = bare.casefold().replace("’", "").replace("'", "").replace("telephone", "phone")
    return " ".join(re.sub(r"[^a-z0-9]+", " ", plain).split())


def refusal_of(columns: list[str]) -> str:
    """Why a list cannot be brought in by these columns; empty where it can."""
    chosen = [key for key in columns if key]
    twice = next((key for key in chosen if chosen.count(key) > 1 and not EVERYTHING[key].several), "")
    if twice:
        return f"{EVERYTHING[twice].label} is chosen twice."
    if "name" in chosen and {"first_name", "surname"} & set(chosen):
        return "Choose the whole name, or first name and surname."
    if not WHO & set(chosen) and "registration" not in chosen:
        return "Say which column has the customer’s name, phone or email, or the registration."
    if CAR_KEYS & set(chosen) - {"car_notes"} and "registration" not in chosen:
        return "Say which column has the registration."
    if "registration" in chosen and not {"maker", "model"} <= set(chosen):
        return "Say which columns have make and model."
    if "registration" in chosen and not WHO & set(chosen):
        return "A car needs its customer. Say which column has name, phone or email."
    return ""


def header_sha256(header: list[str]) -> str:
    """Under which the columns of a header are kept, however it was spaced or capitalised."""
    return hashlib.sha256(json.dumps([word.casefold() for word in header]).encode()).hexdigest()
