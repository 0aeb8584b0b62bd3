"""Lists as a spreadsheet saves them: people, plates and makes are invented."""

import io

from django.urls import reverse

from garage.arrivals.models import WaitingList

HEADER = ["Customer", "Phone", "Email", "Address", "Reg", "Make", "Model", "Year", "Chassis no", "Engine no",
          "Cyl", "Capacity (cc)", "Notes"]  # fmt: skip
MIRA = ["Mira Holt", "0171 555 0100", "mira@example.org", "3 Quarry Hill", "KLM 204 B", "Alder", "1500", "1964",
        "AL-7781", "E 4410", "4", "1,498", "Runs rich"]  # fmt: skip
JONAH = ["Jonah Reed", "0171 555 0200", "", "", "TRF 9", "Corvane", "Six", "1971", "", "", "6", "", ""]


def csv_of(*rows: list[str], header: list[str] | None = None, delimiter: str = ",") -> str:
    quoted = [['"{}"'.format(cell.replace('"', '""')) for cell in row] for row in [header or HEADER, *rows]]
    return "".join(delimiter.join(row) + "\r\n" for row in quoted)


def uploaded(client, content: str | bytes, name: str = "customers.csv"):
    """The answer to uploading `content`."""
    file = io.BytesIO(content.encode() if isinstance(content, str) else content)
    file.name = name
    return client.post(reverse("arrivals:upload"), {"file": file})


def previewed(client, *rows: list[str], columns: list[str] | None = None, header: list[str] | None = None):
    """The preview of a list with these rows, by the guessed columns where none are named."""
    answer = uploaded(client, csv_of(*rows, header=header))
    assert answer.status_code == 302, answer.content.decode()
    waiting = WaitingList.objects.latest("at")
    client.post(answer.url, {f"column-{n}": key for n, key in enumerate(columns or waiting.columns)})
    return client.get(reverse("arrivals:preview", args=[waiting.pk]))


def brought_in(client, preview, **choices: str):
    """The answer to 'Bring in' on the page `preview`."""
    own, plan = preview.context["own"], preview.context["plan"]
    chosen = {f"choice {key.replace('_', ' ').removeprefix('line ')}": choice for key, choice in choices.items()}
    return client.post(reverse("arrivals:bring-in", args=[own.pk]), {"seen": plan.fingerprint, **chosen})
