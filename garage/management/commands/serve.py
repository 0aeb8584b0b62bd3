"""Opens the workshop to its own network, over https."""

import os
import shutil
import sys
from argparse import ArgumentParser
from collections.abc import Callable
from pathlib import Path
from socket import socket
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError
from django.db import DatabaseError

from garage.backup.errors import BackupError
from garage.backup.workshop import back_up
from garage.lan import console, ready, tls
from garage.lan import sockets as doors
from garage.lan.attendant import Attendant
from garage.lan.authority import AuthorityUnreadableError
from garage.lan.names import asked_for
from garage.lan.server import Part, PartEndedError, environment, serve
from garage.lan.watch import AuthorityWatch, NamesWatch
from garage.people.set_up import announce
from garage.site.damage import refuse_a_damaged_workshop
from garage.site.data_folder import prepared

LOOPBACK = ("127.0.0.1", "::1", "localhost")


class Command(BaseCommand):
    help = (
        "Serve the workshop to the tablets in its own network over https. Makes and renews what https needs, "
        "brings the tables up to date, and prints the address."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--port", type=int, default=8443, help="port of the workshop (default 8443)")
        parser.add_argument(
            "--http-port",
            type=int,
            default=8080,
            help="port of the one plain-http page, which says how a tablet comes to trust this machine "
            "(default 8080; 0 for none)",
        )
        parser.add_argument("--bind", default="", help="listen on this address only (default: on all)")
        parser.add_argument("--certificate", type=Path, help="a certificate of your own with its chain, as PEM")
        parser.add_argument("--key", type=Path, help="its key as PEM, unless the same file holds it")
        parser.add_argument(
            "--behind-proxy",
            action="store_true",
            help="plain http on this machine alone, for a reverse proxy that speaks https and sets X-Forwarded-Proto",
        )

        parser.add_argument(
            "--without-worker",
            action="store_true",
            help="leave the work in the background to `manage.py work`, here or on another machine",
        )

    def handle(self, *args: Any, **options: Any) -> None:
        options["bind"] = options["bind"].strip("[]")
        _refuse_what_cannot_be(options)
        try:
            prepared(settings.DATA_DIR)
            refuse_a_damaged_workshop()
            if options["behind_proxy"]:
                self._serve_a_proxy(options)
            elif options["certificate"]:
                self._serve_with_own_certificate(options)
            else:
                self._serve_with_own_authority(options)
        except KeyboardInterrupt:
            # Before the server itself listens for it.
            self._say("Ended before the workshop was open.")
        except (doors.DoorError, tls.CertificateUnusableError, AuthorityUnreadableError) as problem:
            raise CommandError(str(problem)) from problem
        except PartEndedError as problem:
            raise CommandError("The server ended by itself; the lines above say why.") from problem
        except DatabaseError as problem:
            raise CommandError(f"The database does not answer as it should: {problem}") from problem
        except OSError as problem:
            raise CommandError(
                f"Crankmark cannot keep its files in {settings.DATA_DIR} ({problem.strerror or problem}). "
                "Make room there, or give this user the right to write, then start again."
            ) from problem

    def _serve_with_own_authority(self, options: dict[str, Any]) -> None:
        workshop, plain = _opened(options)
        self._make_ready()
        watch = AuthorityWatch(Path(settings.DATA_DIR) / "certificates", self._say)
        # Strict transport would turn the plain-http page to https too, and whatever else answers to this name, and a
        # browser could be helped neither past a lost authority nor to a new one.
        part = Part(
            "crankmark", workshop, _over_https([], options["port"], strict="false"), certificate=watch.certificate_file
        )

        def say_where() -> None:
            hosts = _hosts(options, watch)
            first = f"https://{hosts[0]}:{options['port']}/"
            if plain:
                first = f"http://{hosts[0]}:{options['http_port']}/"
            self._say(*console.addresses(hosts, options["port"]), *console.first_visit(first, watch.authority))
            self._invite(first)

        trust = _trust_page(options, plain, [], local_authority=True)
        self._serve([part, *trust], watch, options, say_where)

    def _serve_with_own_certificate(self, options: dict[str, Any]) -> None:
        certificate, key = options["certificate"].resolve(), options["key"] and options["key"].resolve()
        tls.prove_usable(certificate, key)
        workshop, plain = _opened(options)
        self._make_ready()
        names = tls.names_in(certificate)
        strict = os.environ.get("CRANKMARK_HSTS", "false")
        part = Part(
            "crankmark", workshop, _over_https(names, options["port"], strict=strict), certificate=certificate, key=key
        )
        watch = NamesWatch()

        def say_where() -> None:
            hosts = [name for name in names if not name.startswith("*")] or _hosts(options, watch)
            self._say(*console.addresses(hosts, options["port"]))
            self._invite(f"https://{hosts[0]}:{options['port']}/")

        trust = _trust_page(options, plain, names, local_authority=False)
        self._serve([part, *trust], watch, options, say_where)

    def _serve_a_proxy(self, options: dict[str, Any]) -> None:
        options["bind"] = options["bind"] or LOOPBACK[0]
        workshop = doors.opened(options["bind"], options["port"], "--port")
        self._make_ready()
        told = environment(
            CRANKMARK_HTTPS=os.environ.get("CRANKMARK_HTTPS", "true"),
            CRANKMARK_BEHIND_PROXY="true",
            **_figures(options["port"]),
            **_data(),
        )

        def say_where() -> None:
            self._say(f"The workshop waits for its proxy at http://{options['bind']}:{options['port']}/")
            if not asked_for():
                self._say(
                    "Put the name under which people reach the proxy into ALLOWED_HOSTS; the proxy must pass Host on."
                )
            self._invite()

        self._serve([Part("crankmark", workshop, told)], NamesWatch(), options, say_where)

    def _make_ready(self) -> None:
        if behind := ready.steps_behind():
            self._back_up_first()
            if copy := ready.copied_before_upgrade():
                self._say(f"A new release: the book as it was is kept in {copy}.")
            self._say(f"Bringing the tables up to date ({behind} {'step' if behind == 1 else 'steps'}).")
            ready.bring_tables_up_to_date()
        if ready.static_files_are_stale():
            self._say("Laying out the static files.")
            ready.collect_static_files()

    def _back_up_first(self) -> None:
        """The whole book into the second place before a release changes it. A failure is said, and stops nobody."""
        target = settings.BACKUP_FOLDER
        if target is None or not ready.is_in_use():
            return
        try:
            made = back_up(target)
            self._say(f"A new release: backed up first, to {made.file}.", *filter(None, [made.not_sent]))
        except BackupError as problem:
            self._say(f"A new release, and the backup before it failed: {problem}")

    def _serve(
        self, parts: list[Part], watch: NamesWatch, options: dict[str, Any], say_where: Callable[[], None]
    ) -> None:
        attendants = [] if options["without_worker"] else [Attendant(environment(**_data()), self._say)]
        here = LOOPBACK[0] if options["bind"] in ("", *doors.EVERYWHERE) else options["bind"]
        secure = not options["behind_proxy"]
        serve(
            parts,
            answers=lambda: tls.answers(here, options["port"], secure=secure),
            when_open=say_where,
            look=watch.look,
            attendants=attendants,
        )

    def _invite(self, address: str = "") -> None:
        if address and console.can_draw(self.stdout):
            self._say(console.drawn(address))
        if notice := announce():
            self._say(notice)
        self._say("Ctrl-C ends it.")

    def _say(self, *lines: str) -> None:
        for line in lines:
            self.stdout.write(line)
        # A line in a buffer helps nobody: the console may be a file or a service's journal.
        self.stdout.flush()


def _refuse_what_cannot_be(options: dict[str, Any]) -> None:
    if sys.platform == "win32":
        raise CommandError(
            "The server behind this command, gunicorn, does not run on Windows. Run Crankmark in the Windows Subsystem "
            "for Linux or on another machine, or put a WSGI server made for Windows before garage.site.wsgi, "
            "with https and CRANKMARK_HTTPS=true."
        )
    if settings.DEBUG:
        raise CommandError("CRANKMARK_DEVELOPMENT is set, and no workshop may run with it. Unset it and start again.")
    if options["behind_proxy"] and (options["certificate"] or options["key"]):
        raise CommandError("Behind a proxy the proxy has the certificate: leave out --certificate and --key.")
    if options["behind_proxy"] and options["bind"] not in ("", *LOOPBACK):
        raise CommandError(
            "Behind a proxy the workshop listens on this machine alone, for whoever reached it directly could pass "
            "for the proxy: leave out --bind."
        )
    if options["key"] and not options["certificate"]:
        raise CommandError("--key needs the --certificate it belongs to.")
    if options["port"] == options["http_port"]:
        raise CommandError("--port and --http-port cannot be the same: one speaks https, the other plain http.")
    for name in ("port", "http_port"):
        if not (name == "http_port" and options[name] == 0) and not 1 <= options[name] <= 65535:
            raise CommandError(f"--{name.replace('_', '-')} must be between 1 and 65535.")


def _opened(options: dict[str, Any]) -> tuple[list[socket], list[socket]]:
    workshop = doors.opened(options["bind"], options["port"], "--port")
    plain = doors.opened(options["bind"], options["http_port"], "--http-port") if options["http_port"] else []
    return workshop, plain


def _over_https(names: list[str], port: int, *, strict: str) -> dict[str, str]:
    return environment(
        CRANKMARK_HTTPS="true",
        CRANKMARK_HSTS=strict,
        CRANKMARK_BEHIND_PROXY="false",
        **_reached_as(names),
        **_figures(port),
        **_data(),
    )


def _trust_page(options: dict[str, Any], plain: list[socket], names: list[str], *, local_authority: bool) -> list[Part]:
    if not plain:
        return []
    told = environment(
        DJANGO_SETTINGS_MODULE="garage.lan.trust_settings",
        CRANKMARK_HTTPS_PORT=str(options["port"]),
        CRANKMARK_LOCAL_AUTHORITY="true" if local_authority else "",
        **_reached_as(names),
        **_data(),
    )
    return [Part("crankmark-trust", plain, told, workers=1)]


def _reached_as(names: list[str]) -> dict[str, str]:
    # A certificate for *.garage.example serves what Django calls .garage.example.
    own = [f".{name[2:]}" if name.startswith("*.") else name for name in names]
    return {"ALLOWED_HOSTS": ",".join([*asked_for(), *own])}


def _hosts(options: dict[str, Any], watch: NamesWatch) -> list[str]:
    if options["bind"] in ("", *doors.EVERYWHERE):
        return watch.hosts()
    return [f"[{options['bind']}]" if ":" in options["bind"] else options["bind"]]


def _data() -> dict[str, str]:
    return {"CRANKMARK_DATA": str(settings.DATA_DIR)}


def _figures(port: int) -> dict[str, str]:
    """Where the workers of this server add up what they count, from nought at each start."""
    if not settings.METRICS_TOKEN:
        return {}
    folder = Path(settings.DATA_DIR) / "metrics" / str(port)
    shutil.rmtree(folder, ignore_errors=True)
    folder.mkdir(parents=True)
    return {"PROMETHEUS_MULTIPROC_DIR": str(folder)}
