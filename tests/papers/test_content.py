"""What stands on the papers: every line and total of the estimate, in HTML and in PDF alike."""

from __future__ import annotations

import re
import shutil
import subprocess
from datetime import timedelta
from decimal import Decimal
from html.parser import HTMLParser
from pathlib import Path

import pytest
from invented_day import HEARDS, NOW, OFFICE, START, Tape, finished_job, open_job, slots

from voicelog.estimate.card import default_card, read_card
from voicelog.estimate.card.model import Card
from voicelog.estimate.invoices import credit, document
from voicelog.estimate.money import format_money
from voicelog.estimate.pricing.price import price_job
from voicelog.jobs.records import State
from voicelog.journal import events as ev
from voicelog.papers import Letterhead, Subject, invoices, paper_html, subject_of, write_papers

PDFTOTEXT = shutil.which("pdftotext")
needs_poppler = pytest.mark.skipif(PDFTOTEXT is None, reason="needs pdftotext (poppler-utils)")


class _Text(HTMLParser):
    """The text of a page, without scripts and styles (the standard library's parser)."""

    def __init__(self) -> None:
        super().__init__()
        self.parts: list[str] = []
        self._hidden = 0

    def handle_starttag(self, tag: str, attrs: object) -> None:
        self._hidden += tag in ("style", "script")

    def handle_endtag(self, tag: str) -> None:
        self._hidden -= tag in ("style", "script")

    def handle_data(self, data: str) -> None:
        if not self._hidden:
            self.parts.append(data)


def squeezed(text: str) -> str:
    """Text without any white space: how lines are broken does not matter."""
    return re.sub(r"[\s\u00a0]+", "", text)


def html_text(path: Path) -> str:
    """The words of an HTML paper."""
    parser = _Text()
    parser.feed(path.read_text(encoding="utf-8"))
    return squeezed("".join(parser.parts))


def pdf_text(path: Path) -> str:
    """The words of a PDF as poppler finds them in the order of drawing."""
    found = subprocess.run([str(PDFTOTEXT), "-raw", str(path), "-"], capture_output=True, check=True)
    return squeezed(found.stdout.decode("utf-8"))


def texts(folder: Path, stem: str) -> list[str]:
    """The words of both forms of a paper."""
    return [html_text(folder / f"{stem}.html"), *([pdf_text(folder / f"{stem}.pdf")] if PDFTOTEXT else [])]


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory, day: State, card: Card, letterhead: Letterhead) -> Path:
    """All papers of the invented day."""
    folder = tmp_path_factory.mktemp("papers")
    write_papers(day, card, letterhead, folder, heards=HEARDS, now=NOW)
    return folder


@needs_poppler
@pytest.mark.parametrize(
    ("job", "stem"),
    [
        ("job-1", "2026-03-02-VL26DNT-job-0001-quote-QUO-0001-1"),
        ("job-1", "2026-03-02-VL26DNT-job-0001-invoice-INV-2026-TEST-0001"),
        ("job-2", "2026-03-02-AB12CDE-job-0002-estimate"),
        ("job-2", "2026-03-02-AB12CDE-job-0002-draft-invoice"),
    ],
)
def test_every_line_and_total_of_the_estimate(
    written: Path, day: State, card: Card, job: str, stem: str
) -> None:
    estimate = price_job(day.jobs[job], card)
    for text in texts(written, stem):
        for line in estimate.lines:
            if line.kind == "advice" or (line.kind == "refusal" and "INV" in stem):
                continue
            place, _, details = line.text.removeprefix(
                f"Dent {line.dents[:1] and line.dents[0]}: "
            ).partition(", ")
            assert squeezed(place).lower() in text.lower()
            assert squeezed(details) in text or line.cause == "missing"
            if line.amount is not None:
                assert squeezed(format_money(line.amount.low, "GBP")) in text
                assert squeezed(format_money(line.amount.high, "GBP")) in text
        for figures in (estimate.net, estimate.tax, estimate.total):
            low, high = (format_money(figure, "GBP") for figure in (figures.low, figures.high))
            assert squeezed(low if figures.settled else f"{low} – {high}") in text


def test_a_one_dent_estimate_is_one_page_with_its_total(
    tmp_path: Path, card: Card, letterhead: Letterhead, american: Letterhead
) -> None:
    """On either paper, with everything an estimate may hold besides."""
    if PDFTOTEXT is None:
        pytest.skip("needs pdftotext (poppler-utils)")
    details = {
        name: f"{name} words" for name in ("make", "model", "colour", "insurer", "claim", "policy", "order")
    }
    tape = Tape().job(
        1, plate="VL26DNT", customer="Ada Example", address="1 Invented Lane\nSampleton", **details
    )
    tape.dent(1, panel="roof", material="steel", length_mm=20, depth="shallow", access="open", method="push")
    tape.add(ev.RiskNoted(("crease-may-show",), dent=1)).add(ev.Told(("crease-may-show",)))
    words = {"warranty": "Five years (invented). " * 6, "terms": "Cars are left at the yard. " * 6}
    for shop in (letterhead, american):
        folder = tmp_path / shop.paper
        write_papers(
            tape.state(),
            card,
            shop.model_copy(update=words),
            folder,
            which=("estimate",),
            formats=("pdf",),
            now=NOW,
        )
        (path,) = folder.glob("*.pdf")
        told = subprocess.run(["pdfinfo", str(path)], capture_output=True, text=True, check=True).stdout
        assert re.search(r"^Pages: +1$", told, re.MULTILINE)
        assert squeezed("Total £24.00") in pdf_text(path) or squeezed("£24.00") in pdf_text(path)
        assert "Acceptedbythecustomer" in pdf_text(path)


@pytest.mark.parametrize("stem", ["AB12CDE-job-0002-estimate", "AB12CDE-job-0002-work-record"])
def test_what_is_for_the_technician_stays_off_customers_papers(
    tmp_path: Path, card: Card, letterhead: Letterhead, stem: str
) -> None:
    """Doubts of hearing, limits of discount, inner notes, cautions and their acknowledgement."""
    tape = open_job(Tape().job(1))
    tape.add(ev.JobDescribed(slots(notes="slow payer\nring first", phone="01632 960999"), by="hand"))
    tape.add(ev.Discounted(50)).add(ev.Cautioned("solvent-near-heat")).add(
        ev.Corrected(3, slots(length_mm=14))
    )
    write_papers(tape.state(), card, letterhead, tmp_path, heards=HEARDS, now=NOW)
    for text in texts(tmp_path, f"2026-03-02-{stem}"):
        for said in ("slowpayer", "atmost", "acknowledged", "notsettled", "solvent,", "corrected", "makes£",
                     "saythelength", "960999", "Stillmissing"):  # fmt: skip
            assert said not in text, said
    page = (tmp_path / "day-log-2026-03-02.html").read_text(encoding="utf-8")
    assert "slow payer<br>ring first" in page  # line ends are kept
    for text in texts(tmp_path, "day-log-2026-03-02"):
        for said in (
            "slowpayer",
            "notsettled",
            "(notacknowledged)",
            "corrected,byvoice",
            "saythelength",
            "Stillmissing",
        ):
            assert said in text, said


def test_html_and_pdf_say_the_same(written: Path) -> None:
    if PDFTOTEXT is None:
        pytest.skip("needs pdftotext (poppler-utils)")
    for page in sorted(written.glob("*.html")):
        # Captions are for those who cannot see the table; the plan's text is drawn in another order.
        source = re.sub(r"(?s)<caption>.*?</caption>|<svg.*?</svg>|<title>.*?</title>|<footer>.*?</footer>",
                        "", page.read_text(encoding="utf-8"))  # fmt: skip
        parser = _Text()
        parser.feed(source)
        pdf = pdf_text(page.with_suffix(".pdf"))
        missing = [part for part in parser.parts if squeezed(part) and squeezed(part) not in pdf]
        # A cell that runs over a page break is the only text that may be torn apart.
        assert missing == [], page.name


def test_what_is_not_settled_never_shows_one_figure(written: Path, day: State, card: Card) -> None:
    estimate = price_job(day.jobs["job-2"], card)
    assert not estimate.confirmed
    assert estimate.total.low < estimate.total.high
    span = squeezed(f"{format_money(estimate.total.low, 'GBP')} – {format_money(estimate.total.high, 'GBP')}")
    for stem in ("2026-03-02-AB12CDE-job-0002-draft-invoice", "day-log-2026-03-02"):
        for text in texts(written, stem):
            assert squeezed("Dent 1: length 15 mm or 50 mm") in text
            assert squeezed("Dent 1: count 22 or 32") in text
    for stem in ("2026-03-02-AB12CDE-job-0002-estimate", "day-log-2026-03-02"):
        for text in texts(written, stem):
            assert span in text
            for figure in (estimate.total.low, estimate.total.high):
                shown = squeezed(format_money(figure, "GBP"))
                assert text.count(shown) == text.count(span), "a bound stands alone"
    for text in texts(written, "2026-03-02-AB12CDE-job-0002-estimate"):
        assert squeezed("Not a final price yet") in text
        assert squeezed("Dent 1: length, to be confirmed") in text


def test_refusals_stand_with_their_reason_and_removed_dents_do_not(written: Path) -> None:
    for text in texts(written, "2026-03-02-VL26DNT-job-0001-quote-QUO-0001-1"):
        assert squeezed("Not part of this price") in text
        assert (
            squeezed("Dent 3: front bumper, 30 mm, plastic. Plastic does not spring back like sheet metal")
            in text
        )
        assert "offera" not in text
        assert "roof" not in text


def test_the_work_record_holds_what_was_done(written: Path) -> None:
    for text in texts(written, "2026-03-02-VL26DNT-job-0001-work-record"):
        for said in (
            "3 pulls, 20 mm crease tab", "Lines checked once, from front, left.", "142 µm", "138 µm",
            "magnetic", "reference, roof", "Crease may show", "2 March 2026, 08:39", "75 mm",
            "1 h 17 min", "Lines checked from two directions", "Received by the customer",
        ):  # fmt: skip
            assert squeezed(said) in text, said


def test_what_is_missing_is_said_while_the_job_is_open(written: Path) -> None:
    text = texts(written, "day-log-2026-03-02")[0]
    for said in ("Still missing", "Dent 2 size", "Lines checked from two directions"):
        assert squeezed(said) in text
    text = texts(written, "2026-03-02-AB12CDE-job-0002-work-record")[0]
    for said in ("Measured missing for dent 2", "Lines checked from two directions missing"):
        assert squeezed(said) in text


def test_readings_and_cleared_values_leave_their_trace(
    tmp_path: Path, card: Card, letterhead: Letterhead
) -> None:
    tape = Tape().job(1).dent(1, panel="roof", length_mm=20, depth="deep")
    tape.add(ev.Cleared(1, "depth", by="hand"))
    write_papers(tape.state(), card, letterhead, tmp_path, which=("day-log",), now=NOW)
    assert squeezed("1 depth deep – cleared, by hand") in texts_html(tmp_path, "day-log-2026-03-02")


def test_what_the_customer_was_told_and_not_told(written: Path) -> None:
    record = texts(written, "2026-03-02-VL26DNT-job-0001-work-record")[0]
    untold = texts(written, "2026-03-02-AB12CDE-job-0002-estimate")[0]
    assert squeezed("Crease may show Dent 1 Told the customer on 2 March 2026, 08:39") in record
    assert squeezed("High spots may remain Dent 1") in untold
    assert "Toldthecustomer" not in untold


def test_a_final_invoice_has_what_en_16931_and_hmrc_ask_for(written: Path) -> None:
    """EN 16931-1 rules BR-02 (number), BR-03 (date), BR-05 (currency), BR-06/BR-08 (seller), BR-07/BR-10
    (buyer), BR-13..15 (totals), BR-16 (lines), BR-CO-25 (due date), as worded in the validation
    artefacts of ConnectingEurope/eInvoicing-EN16931; HMRC COG941020 asks for the same and for the
    tax number and the date of completion."""
    text = texts(written, "2026-03-02-VL26DNT-job-0001-invoice-INV-2026-TEST-0001")[0]
    for said in (
        "InvoiceINV-2026-TEST-0001", "Work finished2 March 2026", "Due16 March 2026", "Amount (GBP)",
        "Sample Dent Works (invented)", "Unit 4, Nowhere Yard", "VAT no. GB 000 0000 00",
        "Ada Example", "1 Invented Lane", "Sampleton SA1 1AA",
        "Sum without VAT£217.50", "VAT 20 %£43.50", "Total£261.00", "Amount due£261.00",
        "By bank transfer", "Invented Bank, account 00000000", "ReferenceINV-2026-TEST-0001",
        "Five years on the repair",
    ):  # fmt: skip
        assert squeezed(said) in text, said
    assert "draft" not in text.lower()
    assert "safety" not in text.lower()


def test_an_invoice_that_is_not_final_says_why(written: Path) -> None:
    text = texts(written, "2026-03-02-AB12CDE-job-0002-draft-invoice")[0]
    for said in ("Draft invoice", "not to be paid", "The job is not finished.",
                 "Name and address of the customer are not on record."):  # fmt: skip
        assert squeezed(said) in text
    assert squeezed("Due16 March 2026") not in text


def test_an_accepted_quote_binds_the_invoice_whatever_card_comes_later(letterhead: Letterhead) -> None:
    """By hand: the dear card asks twice the hourly rate, the quote was given by the cheap one."""
    state = finished_job(Tape()).state()
    cheap = default_card("GB")
    dear = read_card(cheap.text.replace("hourly_rate = 60.00", "hourly_rate = 120.00"))
    job = state.jobs["job-1"]
    subject = subject_of(job, price_job(job, dear), letterhead, dear)
    assert subject.estimate["net"] == {"low": "435.00", "high": "435.00"}
    assert subject.priced.total == (Decimal("261.00"), Decimal("261.00"))
    (paper,) = invoices(subject)
    assert (paper.title, paper.number) == ("Invoice", "INV-2026-TEST-0001")


def test_an_issued_invoice_and_its_credit_note_print_as_they_were_issued(letterhead: Letterhead) -> None:
    """Whatever the record, the card and the settings say later: the paper shows the snapshot."""
    tape = finished_job(Tape())
    (before,) = invoices(_subject(tape, letterhead))
    tape.dent(5, panel="bonnet", length_mm=200, material="steel").add(ev.Discounted(10))
    tape.add(ev.JobDescribed(slots(customer="Somebody Else"), by="hand"))
    job = tape.state().jobs["job-1"]
    back = credit(job, "INV-2026-TEST-0001")
    assert back is not None
    data = document(job, back, "INV-2026-TEST-0002", NOW.date(), OFFICE, of="INV-2026-TEST-0001")
    tape.add(ev.Invoiced("INV-2026-TEST-0002", data, "INV-2026-TEST-0001"))
    later = letterhead.model_copy(update={"name": "Another name", "payment_days": 90})
    after, note = invoices(_subject(tape, later))
    assert paper_html(after) == paper_html(before)
    text = paper_html(note).decode()
    for said in ("Credit note", "INV-2026-TEST-0002", "Takes back", "INV-2026-TEST-0001", "−£261.00"):
        assert said in text, said


def _subject(tape: Tape, letterhead: Letterhead) -> Subject:
    job, card = tape.state().jobs["job-1"], default_card("GB")
    return subject_of(job, price_job(job, card), letterhead, card)


def test_work_beyond_the_accepted_quote_has_to_be_agreed(card: Card, letterhead: Letterhead) -> None:
    tape = Tape().job(1, customer="Ada Example").dent(1, panel="roof", length_mm=20, material="steel")
    tape.quote(1).add(ev.QuoteSettled(1, True)).dent(2, panel="bonnet", length_mm=150, material="steel")
    job = tape.add(ev.Finished()).state().jobs["job-1"]
    (paper,) = invoices(subject_of(job, price_job(job, card), letterhead, card))
    assert paper.title == "Draft invoice"
    assert any("beyond the accepted quote" in item for block in paper.blocks if block.kind == "notice"
               for item in block.items)  # fmt: skip


def test_american_words_units_money_paper(tmp_path: Path, american: Letterhead) -> None:
    tape = Tape(START).job(1, plate="ABC123").dent(
        1, panel="boot-lid", material="aluminium", length_mm=45, width_mm=30, access="open", method="push"
    )  # fmt: skip
    tape.add(ev.Measured("dent", ev.SlotValue(142), dent=1))
    write_papers(tape.state(), default_card("US"), american, tmp_path, formats=("html", "pdf"), now=NOW)
    for text in texts(tmp_path, "2026-03-02-ABC123-job-0001-estimate"):
        for said in ("Trunk", "aluminum", "License plate", "$", "March 2, 2026"):
            assert squeezed(said) in text, said
        assert "£" not in text
    assert "size: Letter" in (tmp_path / "2026-03-02-ABC123-job-0001-estimate.html").read_text(
        encoding="utf-8"
    )
    assert 'lang="en-US"' in (tmp_path / "2026-03-02-ABC123-job-0001-estimate.html").read_text(
        encoding="utf-8"
    )
    if PDFTOTEXT is not None:
        command = ["pdfinfo", str(tmp_path / "2026-03-02-ABC123-job-0001-estimate.pdf")]
        told = subprocess.run(command, capture_output=True, text=True, check=True).stdout
        # 8.5 × 11 inches at 72 points an inch; A4 is 595.28 × 841.89 (ISO 216).
        assert "612 x 792 pts (letter)" in told


def test_times_follow_the_time_zone_of_the_workshop(tmp_path: Path, american: Letterhead, card: Card) -> None:
    """08:31 UTC is 02:31 in Chicago in winter (UTC−6, IANA tz database)."""
    write_papers(finished_job(Tape()).state(), card, american, tmp_path, formats=("html",), now=NOW)
    assert squeezed("Begun March 2, 2026, 2:31 AM") in texts_html(
        tmp_path, "2026-03-02-VL26DNT-job-0001-work-record"
    )


def texts_html(folder: Path, stem: str) -> str:
    """The words of the HTML form."""
    return html_text(folder / f"{stem}.html")


def test_hundreds_of_dents_stay_on_the_pages(tmp_path: Path, card: Card, letterhead: Letterhead) -> None:
    tape = Tape().job(1, plate="VL26DNT", customer="Ada Example")
    for number in range(1, 121):
        tape.dent(
            number, panel="roof" if number % 2 else "bonnet", material="steel", length_mm=10 + number % 40
        )
    write_papers(tape.state(), card, letterhead, tmp_path, which=("estimate",), now=NOW)
    for text in texts(tmp_path, "2026-03-02-VL26DNT-job-0001-estimate"):
        assert all(f"{9 + number % 40 + 1}mm,steel" in text for number in range(1, 121))


@needs_poppler
@pytest.mark.parametrize("dents", range(20, 40))
def test_headings_are_repeated_and_the_total_never_stands_alone(
    tmp_path: Path, card: Card, letterhead: Letterhead, dents: int
) -> None:
    """Wherever the page ends: the sums have a line of work above them, and each page its heads."""
    tape = Tape().job(1, customer="Ada Example")
    for number in range(1, dents + 1):
        tape.dent(number, panel="roof", material="steel", length_mm=20)
    write_papers(tape.state(), card, letterhead, tmp_path, which=("estimate",), formats=("pdf",), now=NOW)
    (path,) = tmp_path.glob("*.pdf")
    found = subprocess.run([str(PDFTOTEXT), "-raw", str(path), "-"], capture_output=True, check=True)
    pages = [squeezed(page) for page in found.stdout.decode().split("\f")]
    (last,) = [page for page in pages if "Total" in page]
    assert "SumwithoutVAT" in last
    assert "Roof20mm,steel" in last.partition("SumwithoutVAT")[0]
    assert all("No.WorkAmount" in page for page in pages if "Roof20mm" in page)


def test_an_insurer_sees_labour_minutes_and_the_shares_a_retail_customer_does_not(
    tmp_path: Path, card: Card, letterhead: Letterhead
) -> None:
    """By hand: of the total the customer pays an excess of £50."""
    for number, more in ((1, {}), (2, {"insurer": "Invented Mutual", "excess": 50})):
        tape = (
            Tape()
            .job(number, customer="Ada Example", **more)
            .dent(1, panel="roof", material="steel", length_mm=90)
        )
        total = price_job(tape.state().jobs[f"job-{number}"], card).total.low
        write_papers(tape.state(), card, letterhead, tmp_path, which=("estimate",), now=NOW)
        for text in texts(tmp_path, f"2026-03-02-job-000{number}-estimate"):
            shown = [said in text for said in ("Minutes", "Labouranhour£60.00", "paidbythecustomer£50.00",
                     squeezed(f"paid by Invented Mutual {format_money(total - 50, 'GBP')}"))]  # fmt: skip
            assert shown == [number == 2] * 4


def test_the_excess_is_asked_for_on_one_invoice(letterhead: Letterhead) -> None:
    """Excess 10: the first 24.00 is the customer's 10 and the insurer's 14, the second the insurer's."""
    tape = Tape().job(1, customer="Ada Example", insurer="Invented Mutual", excess=10)
    tape.dent(1, panel="roof", material="steel", length_mm=20).add(ev.Finished()).invoice("INV-1")
    tape.dent(2, panel="bonnet", material="steel", length_mm=20).invoice("INV-2")
    first, second = (
        squeezed(re.sub(r"<[^>]+>", "", paper_html(paper).decode()))
        for paper in invoices(_subject(tape, letterhead))
    )
    assert "paidbythecustomer£10.00ofwhichpaidbyInventedMutual£14.00" in first
    assert "paidbythecustomer" not in second
    assert "ofwhichpaidbyInventedMutual£24.00" in second


def test_a_deposit_is_taken_off_the_amount_due(tmp_path: Path, letterhead: Letterhead) -> None:
    tape = Tape().job(1, customer="Ada Example").dent(1, panel="roof", material="steel", length_mm=20)
    tape.add(ev.Paid(Decimal(4), "GBP", "cash", "2026-03-02")).add(ev.Finished()).invoice("INV-1")
    (paper,) = invoices(_subject(tape, letterhead))
    text = squeezed(re.sub(r"<[^>]+>", "", paper_html(paper).decode()))
    assert "Total£24.00Paidalready−£4.00Amountdue£20.00" in text


def test_an_empty_day_is_a_paper_too(tmp_path: Path, card: Card, letterhead: Letterhead) -> None:
    write_papers(State(), card, letterhead, tmp_path, now=NOW + timedelta(days=1))
    for text in texts(tmp_path, "day-log-2026-03-03"):
        assert "Nojobisonrecord." in text


def test_an_open_timer_is_said_to_run(tmp_path: Path, card: Card, letterhead: Letterhead) -> None:
    tape = Tape().job(1).add(ev.Timed("start")).add(ev.Timed("pause"), 65).add(ev.Timed("resume"))
    write_papers(tape.state(), card, letterhead, tmp_path, which=("work-record",), now=NOW)
    assert squeezed("1 h 05 min, and running since 09:39") in texts_html(
        tmp_path, "2026-03-02-job-0001-work-record"
    )


def test_doubt_in_the_plate_is_shown(tmp_path: Path, card: Card, letterhead: Letterhead) -> None:
    tape = Tape()
    tape.add(ev.JobOpened(1)).add(ev.JobDescribed(slots(plate=["VL26DNT", "VL26TNT"])))
    write_papers(tape.state(), card, letterhead, tmp_path, which=("estimate",), now=NOW)
    text = texts_html(tmp_path, "2026-03-02-VL26DNT-job-0001-estimate")
    assert squeezed("VL26DNT (to be confirmed)") in text
    assert "VL26TNT" not in text


def test_the_day_holds_both_jobs(written: Path, day: State, card: Card) -> None:
    low = sum((price_job(job, card).total.low for job in day.jobs.values()), Decimal(0))
    high = sum((price_job(job, card).total.high for job in day.jobs.values()), Decimal(0))
    text = texts(written, "day-log-2026-03-02")[0]
    assert squeezed(f"All jobs {format_money(low, 'GBP')} – {format_money(high, 'GBP')} not settled") in text
    assert squeezed("rear right door steel forty five mil") in text
