"""Commands of the office: invoice, paid, statement, ledger."""

from __future__ import annotations

import csv
import json
import sys
from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace
from datetime import date, datetime
from decimal import Decimal, InvalidOperation
from pathlib import Path
from typing import Annotated, Any

import typer

from voicelog.actions.change import Change, Context
from voicelog.actions.invoices import credit_invoice, issue_invoice
from voicelog.actions.joining import join, may_be_one
from voicelog.actions.payments import note_payment, parts_text
from voicelog.cli.options import CardOption, JsonOption, LogOption, SettingsOption
from voicelog.cli.wiring import chosen_jobs, existing_log, office_of, open_card, open_logbook
from voicelog.errors import VoicelogError
from voicelog.estimate import ledger as books
from voicelog.estimate.card import default_card
from voicelog.estimate.card.model import Card
from voicelog.estimate.money import format_money, money_text
from voicelog.estimate.payers import open_parts
from voicelog.estimate.pricing.price import price_job
from voicelog.jobs.logbook import Logbook
from voicelog.jobs.records import Job
from voicelog.journal import events as ev
from voicelog.meaning.region import Region
from voicelog.settings import load_settings

JobArgument = Annotated[int, typer.Argument(metavar="JOB", help="The job's number.")]
COLUMNS = (
    "date",
    "kind",
    "number",
    "of",
    "job",
    "customer",
    "net",
    "tax",
    "total",
    "currency",
    "due_on",
    "open",
    "how",
    "insurer",
    "insurer_total",
    "insurer_open",
)
"""Columns of the ledger as CSV."""


def register(app: typer.Typer) -> None:
    """Add the commands of this module."""
    for command in (jobs, invoice, paid, statement, ledger):
        app.command()(command)


def jobs(
    log: LogOption = None,
    card: CardOption = None,
    settings: SettingsOption = None,
    every: Annotated[bool, typer.Option("--all", help="Finished ones, too.")] = False,
    as_json: JsonOption = False,
) -> None:
    """List the open jobs: day, car, customer, state, sum."""
    rates = open_card(card, load_settings(settings))
    with open_logbook(log, writer=False) as logbook:
        found = [job for job in chosen_jobs(logbook.state, None) if every or job.finished_at is None]
        rows = [_job_row(job, rates) for job in found]
    if as_json:
        _print_json({"jobs": rows})
        return
    for row in rows:
        low, high = (format_money(Decimal(row["total"][end]), rates.currency) for end in ("low", "high"))
        total = low if low == high else f"{low} to {high}"
        car = " ".join(filter(None, (row["plate"], row["vehicle"])))
        typer.echo(
            f"{row['day']}  {row['number']:>4}  {car:<26.26}  {row['customer'] or '':<24.24}  "
            f"{row['state']:<9}{total:>22}"
        )


def _job_row(job: Job, card: Card) -> dict[str, Any]:
    vehicle = " ".join(str(job.get(name)) for name in ("colour", "make", "model") if job.get(name))
    total = price_job(job, card).to_json()["total"]
    named = {
        name: None if job.get(name) is None else str(job.get(name)) for name in ("plate", "stock", "customer")
    }
    return {"number": job.number, "id": job.id, "day": job.opened_at[:10], **named,
            "vehicle": vehicle or job.get("vehicle"), "state": job.state, "total": total}  # fmt: skip


def offer_joining(logbook: Logbook, among: frozenset[str], wanted: bool | None) -> None:
    """Name the pairs of jobs that may be one car; join them where that is wanted, or a person says so."""
    asks = wanted is None and sys.stdin.isatty()
    for one, other in list(may_be_one(logbook.state, among)):
        pair = f"{other.title} and {one.title}, {one.opened_at[:10]}"
        if wanted is False or not (wanted or asks):
            typer.echo(f"may be one car: {pair}; to join them add --join")
        elif wanted or typer.confirm(f"{pair}: join them?"):
            with logbook.lock:
                context = Context(
                    logbook.state,
                    Region("GB"),
                    default_card(),
                    logbook.new_group(),
                    logbook.clock.now(),
                    by="hand",
                )
                change = join(context, one.id, other.id)
                logbook.commit(change.drafts, change.group)
            typer.echo(change.answer)


def invoice(
    job: JobArgument,
    log: LogOption = None,
    card: CardOption = None,
    settings: SettingsOption = None,
    yes: Annotated[bool, typer.Option("--yes", help="Also where something speaks against it.")] = False,
    credit: Annotated[
        str | None,
        typer.Option("--credit", metavar="NUMBER", help="Take this invoice back."),
    ] = None,
    as_json: JsonOption = False,
) -> None:
    """Issue the invoice of a job, or a credit note; what was issued never changes."""

    def action(context: Context) -> Change:
        return credit_invoice(context, credit) if credit else issue_invoice(context, sure=yes)

    found = _do(log, card, settings, job, action, "add --yes to issue it nevertheless")
    issued = found.issued[-1]
    if as_json:
        _print_json(dict(issued.snapshot))
        return
    data = issued.snapshot
    name = "Credit note" if data["kind"] == "credit-note" else "Invoice"
    due = f", due {data['due_on']}" if data["due_on"] else ""
    total = format_money(Decimal(data["total"]["low"]), data["total"]["currency"])
    typer.echo(f"{name} {issued.number}: {total}{due}; print it with: voicelog papers --job {job}")


def paid(
    job: JobArgument,
    amount: Annotated[
        str | None, typer.Argument(metavar="AMOUNT", help="Without one: all that is open.")
    ] = None,
    log: LogOption = None,
    card: CardOption = None,
    settings: SettingsOption = None,
    by: Annotated[str, typer.Option("--by", help="cash, card, transfer or other.")] = "other",
    on: Annotated[str | None, typer.Option("--date", metavar="DATE", help="ISO 8601; today.")] = None,
    payer: Annotated[str, typer.Option("--payer", help="customer or insurer, where both pay.")] = "",
    as_json: JsonOption = False,
) -> None:
    """Note that money came in; less than nought for money given back."""
    given = None if amount is None else _amount(amount)
    day = None if on is None else day_of(on, "--date")
    found = _do(log, card, settings, job, lambda context: note_payment(context, given, by, day, payer))
    payment, rest = found.payments[-1], open_parts(found)
    if as_json:
        whole, insured = (money_text(amount, payment.currency) for amount in (rest.total, rest.insurer))
        shown = {"job": job, "amount": str(payment.amount), "currency": payment.currency, "by": payment.how,
                 "date": payment.date, "payer": payment.payer or None, "balance": whole,
                 "insurer_balance": insured}  # fmt: skip
        typer.echo(json.dumps(shown))
        return
    came = format_money(Decimal(str(payment.amount)), payment.currency)
    typer.echo(f"job {job}: paid {came}, open {parts_text(rest, payment.currency)}")


def _do(
    log: Path | None,
    card: Path | None,
    settings: Path | None,
    number: int,
    action: Callable[[Context], Change],
    todo: str | None = None,
) -> Job:
    """Change a job as by hand, and the job after it."""
    given = load_settings(settings)
    rates = open_card(card, given)
    with open_logbook(existing_log(log)) as logbook, logbook.lock:
        (job,) = chosen_jobs(logbook.state, number)[:1]
        context = Context(
            logbook.state,
            given.region,
            rates,
            logbook.new_group(),
            datetime.now().astimezone(),
            by="hand",
            looked_at=job.id,
            recall=logbook.store.of_group,
            office=office_of(given),
            device=logbook.store.device,
            invoices=lambda: logbook.events(kind=ev.Invoiced.TYPE),
        )
        change = action(context)
        if change.refused:
            said = change.answer.replace("; say invoice it anyway", "")
            raise VoicelogError(said, where=f"job {number}", todo=todo if said != change.answer else None)
        logbook.commit(change.drafts, change.group)
        return logbook.state.jobs[job.id]


def statement(
    customer: Annotated[str, typer.Argument(metavar="CUSTOMER", help="The name as it stands on invoices.")],
    log: LogOption = None,
    first: Annotated[str, typer.Option("--from", metavar="DATE", help="First day, ISO 8601.")] = "0001-01-01",
    last: Annotated[str, typer.Option("--to", metavar="DATE", help="Last day, ISO 8601.")] = "9999-12-31",
    as_json: JsonOption = False,
) -> None:
    """The account of a customer: what was owed, invoices and payments, what is owed."""
    begin, end = (day_of(text, name).isoformat() for text, name in ((first, "--from"), (last, "--to")))
    accounts = books.statement(_entries(log), customer, begin, end, date.today())
    if not accounts:
        raise VoicelogError(
            f"no invoice was issued to {customer}", todo="see the names with: voicelog ledger"
        )
    if as_json:
        typer.echo(
            json.dumps({"statements": [_account(one) for one in accounts]}, ensure_ascii=False, indent=2)
        )
        return
    for account in accounts:
        for line in _account_lines(account):
            typer.echo(line)


def _account(account: books.Statement) -> dict[str, Any]:
    return {
        "customer": account.customer,
        "from": account.first,
        "to": account.last,
        "currency": account.currency,
        "before": money_text(account.before, account.currency),
        "entries": [entry.to_json() for entry in account.entries],
        "after": money_text(account.after, account.currency),
        "overdue": [entry.number for entry in account.overdue],
    }


def _account_lines(account: books.Statement) -> Iterator[str]:
    def money(amount: Decimal) -> str:
        return format_money(amount, account.currency)

    yield f"{account.customer}, {account.currency}"
    yield f"  {'owed before':<44}{money(account.before):>16}"
    for entry in account.entries:
        what = f"paid {entry.how}" if entry.kind == "payment" else f"{entry.kind} {entry.number}"
        yield f"  {entry.on}  job {entry.job_number:<4} {what:<24} {money(entry.total):>16}"
    yield f"  {'owed':<44}{money(account.after):>16}"
    for entry in account.overdue:
        yield f"  overdue since {entry.due_on}: {entry.number}, {money(entry.open)} open"


def ledger(
    log: LogOption = None,
    overdue: Annotated[bool, typer.Option("--overdue", help="Only invoices that are overdue.")] = False,
    as_json: JsonOption = False,
) -> None:
    """Every invoice, credit note and payment, as CSV for the bookkeeping."""
    entries = _entries(log)
    if overdue:
        entries = [entry for entry in entries if entry.overdue(date.today())]
    if as_json:
        typer.echo(
            json.dumps({"entries": [entry.to_json() for entry in entries]}, ensure_ascii=False, indent=2)
        )
        return
    writer = csv.DictWriter(sys.stdout, COLUMNS, lineterminator="\r\n")
    writer.writeheader()
    writer.writerows({name: _cell(value) for name, value in entry.to_json().items()} for entry in entries)


def _print_json(data: dict[str, Any]) -> None:
    typer.echo(json.dumps(data, ensure_ascii=False, indent=2))


def _cell(value: Any) -> Any:
    """A text that a spreadsheet would take for a formula is led by an apostrophe."""
    return f"'{value}" if isinstance(value, str) and value[:1] in ("=", "+", "@", "\t") else value


def _entries(log: Path | None) -> list[books.Entry]:
    with open_logbook(log, writer=False) as logbook:
        return entries_of(logbook)


def entries_of(logbook: Logbook) -> list[books.Entry]:
    """The sales ledger of a journal."""
    events = [replace(event, job=logbook.whole_of(event.job)) for event in _counting(logbook) if event.job]
    invoiced = {event.job for event in events if isinstance(event.body, ev.Invoiced)}
    others = {event.job for event in events} - invoiced
    jobs = {
        key: (logbook.state.jobs[key].number, str(logbook.state.jobs[key].get("customer") or ""))
        for key in others
        if key is not None and key in logbook.state.jobs
    }
    return books.ledger(events, jobs)


def _counting(logbook: Logbook) -> Iterable[ev.Event]:
    """Invoices and payments that were not taken back."""
    for kind in (ev.Invoiced.TYPE, ev.Paid.TYPE):
        yield from (event for event in logbook.events(kind=kind) if not logbook.is_undone(event.group))


def _amount(text: str) -> Decimal:
    try:
        amount = Decimal(text)
    except InvalidOperation as error:
        raise VoicelogError(f"{text} is no amount", todo="write it as 120 or 120.50") from error
    if not amount.is_finite():
        raise VoicelogError(f"{text} is no amount", todo="write it as 120 or 120.50")
    return amount


def day_of(text: str, option: str) -> date:
    """The calendar day that an option names (ISO 8601)."""
    try:
        return date.fromisoformat(text)
    except ValueError as error:
        raise VoicelogError(f"{option} {text} is no date", todo="write it as 2026-03-31") from error
