"""``soakline people``: who may sign in."""

from __future__ import annotations

import os

import click

from scheduler.cli.record import open_record
from scheduler.office import people as office
from scheduler.office.clock import system_clock
from scheduler.office.config import Config
from scheduler.office.people.addresses import link_address, screen_address, server_address
from scheduler.people import ROLE_WORDS, ROLES

#: The name that events keep of what is done here.
TERMINAL = "terminal"


@click.group()
def people() -> None:
    """Add people, set passwords and PINs, give links that sign in once, and links for screens.

    Whoever can use this command on the shop's database can do all of it.
    """


@people.command()
@click.argument("id")
@click.argument("name")
@click.option("--role", type=click.Choice(ROLES[:-1]), default="operator", show_default=True)
def add(id: str, name: str, role: str) -> None:
    """Record a person and print the link by which they come in first.

    ID is the sign-in name (a to z, digits, hyphens), NAME the name that pages show. The first
    person must be a manager.
    """
    record = open_record(create=True)
    person = office.add_person(record, system_clock, id, name, role, TERMINAL)
    click.echo(f"{person.name} is on record as {ROLE_WORDS[person.role]}, sign-in name {person.id}.")
    _print_link(office.make_link(record, system_clock, person.id, TERMINAL))


@people.command("list")
def list_() -> None:
    """Print everybody on record: sign-in name, role, name, what is set, whether shut out."""
    record = open_record()
    for seen in office.everyone(record, system_clock):
        person = seen.person
        has = [word for word, there in (("password", person.has_password), ("PIN", person.has_pin)) if there]
        notes = [", ".join(has) or ("link of a screen" if person.role == "display" else "no password yet")]
        notes += [f"{len(seen.sign_ins)} signed in"] if seen.sign_ins else []
        notes += ["shut out"] if not person.active else []
        click.echo(f"{person.id:<16} {ROLE_WORDS[person.role]:<11} {person.name:<24} {'; '.join(notes)}")


@people.command()
@click.argument("id")
@click.password_option("--password", prompt="New password", help="Asked for if not given.")
def password(id: str, password: str) -> None:
    """Set a person's password; their sign-ins end."""
    office.set_password(open_record(), system_clock, id, password, TERMINAL)
    click.echo(f"{id} has a new password.")


@people.command()
@click.argument("id")
@click.option("--none", "none", is_flag=True, help="Take the PIN away.")
@click.option("--pin", help="4 to 8 digits; asked for if not given.")
def pin(id: str, none: bool, pin: str | None) -> None:
    """Set a person's PIN for shared tablets."""
    record = open_record()
    if not none and pin is None:
        pin = click.prompt("New PIN", hide_input=True, confirmation_prompt=True)
    office.set_pin(record, system_clock, id, None if none else pin, TERMINAL)
    click.echo(f"{id} has no PIN any more." if none else f"{id} has a new PIN.")


@people.command()
@click.argument("id")
def deactivate(id: str) -> None:
    """Shut a person or a screen out; sign-ins and links end at once."""
    office.deactivate(open_record(), system_clock, id, TERMINAL)
    click.echo(f"{id} is shut out.")


@people.command()
@click.argument("id")
def activate(id: str) -> None:
    """Let a person in again."""
    office.activate(open_record(), system_clock, id, TERMINAL)
    click.echo(f"{id} may sign in again.")


@people.command()
@click.argument("id")
def link(id: str) -> None:
    """Print a link that signs a person in once, within 24 hours."""
    _print_link(office.make_link(open_record(), system_clock, id, TERMINAL))


@people.command("screen-link")
@click.argument("name")
def screen_link(name: str) -> None:
    """Print a link that shows the wall, and nothing else, on the screen NAME."""
    token = office.make_display_link(open_record(), system_clock, name, TERMINAL)
    click.echo("Open this on the screen; an older link of it has ended:")
    click.echo(f"  {screen_address(_server(), token)}")


def _print_link(token: str) -> None:
    click.echo("This signs in once, within 24 hours, while the server runs there:")
    click.echo(f"  {link_address(_server(), token)}")


def _server() -> str:
    return server_address(Config.from_env(os.environ))
