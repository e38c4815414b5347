"""Pages to render: the record of an invented job, an invented month, and pages that try to break a renderer."""

from __future__ import annotations

from compliance.reports.model import (
    Bullets,
    Cell,
    Chart,
    Column,
    Fact,
    Facts,
    Footer,
    Heading,
    OpenItems,
    Page,
    PageBreak,
    Paper,
    Paragraph,
    Series,
    Small,
    Statement,
    Table,
    WaterFlow,
    WaterNode,
    WaterPath,
)

SENTENCE = "The local permit governs. These are our records; they do not replace a permit or an inspection."
CODE = (
    "Record code: book 7c1e-04aa, 418 records, root 9f3b 22d1 6a07 e85c 41f0 b7c9 0d1e 5a32 88f4 13bb 60ce 2d97 f1a5 "
    "4e08 c36d 7b21",
    "The code shows that these records were in the book in this form when the page was issued. It does not show that "
    "a reading was right.",
)


def gal(value: str, pm: str | None = None) -> Cell:
    shown = f"{int(value):,} gal" if pm is None else f"{int(value):,} ± {pm} gal"
    return Cell(shown, value, "gal", pm)


def words(*texts: str) -> tuple[Cell, ...]:
    return tuple(Cell(text) for text in texts)


def water_path() -> WaterPath:
    nodes = (
        WaterNode("bib", "supply", "Client's hose bib, meter M-2", gal("1180", "6")),
        WaterNode("used", "used", "Used through the guns", gal("1180", "6")),
        WaterNode("heel", "supply", "Aboard at the start, from earlier loads", gal("15", "5")),
        WaterNode("tank", "captured", "Captured in recovery tank R1", gal("965", "14")),
        WaterNode("sewer", "place", "Sanitary sewer cleanout behind the loading dock", gal("940", "14")),
        WaterNode("aboard", "aboard", "Aboard at the end", gal("40", "5")),
        WaterNode("lawn", "away", "Led to the lawn, with permission", Cell("amount not read")),
        WaterNode(
            "rest",
            "unexplained",
            "Not explained, the lawn included",
            Cell("215 ± 16 gal", "215", "gal", "16"),
        ),
    )
    flows = (
        WaterFlow("bib", "used", gal("1180", "6")),
        WaterFlow("used", "tank", gal("965", "14")),
        WaterFlow("heel", "tank", gal("15", "5")),
        WaterFlow("tank", "sewer", gal("940", "14")),
        WaterFlow("tank", "aboard", gal("40", "5")),
        WaterFlow("used", "lawn", Cell("amount not read")),
        WaterFlow("used", "rest", Cell("215 ± 16 gal", "215", "gal", "16")),
    )
    return WaterPath("The water's way", nodes, flows)


def where_table() -> Table:
    columns = (
        Column("Place"),
        Column("Connection"),
        Column("Permission in force that day"),
        Column("Handed over"),
        Column("Ours", numeric=True),
        Column("Ticket and accepted volume"),
    )
    rows = (
        (
            *words(
                "Sanitary sewer cleanout behind the loading dock",
                "hose through a filter bag",
                "Permit PA-0417 of the Port Alder sewer district, valid to 30 Sep 2031",
                "14 May 2031, 01:20 to 02:05 (UTC-07:00)",
            ),
            gal("940", "14"),
            Cell("no ticket is issued at this place"),
        ),
        (
            *words(
                "Lawn east of the market hall",
                "led by a berm, never in our tank",
                "Owner's letter of 2 May 2031",
                "13 May 2031, evening",
            ),
            Cell("not read"),
            Cell("not applicable"),
        ),
    )
    return Table(columns, rows, caption="Where the water went")


def water_table() -> Table:
    columns = (
        Column("Water"),
        Column("Volume", numeric=True, unit="gal"),
        Column("How it was learned"),
        Column("Read by"),
    )

    def row(name: str, shown: str, number: str | None, pm: str | None, how: str, who: str) -> tuple[Cell, ...]:
        return (Cell(name), Cell(shown, number, "gal" if number else "", pm), Cell(how), Cell(who))

    rows = (
        row("Used", "1,180 ± 6", "1180", "6", "meter M-2, 48,210 to 49,390", "I. Marsh"),
        row("Captured", "965 ± 14", "965", "14", "tank marks on R1, 15 to 980", "I. Marsh"),
        row("Handed over", "940 ± 14", "940", "14", "tank marks on R1, 980 to 40", "I. Marsh"),
        row("Aboard at the end", "40 ± 5", "40", "5", "tank mark on R1", "T. Okafor"),
        row("Led to the lawn", "not read", None, None, "seen by the crew, no instrument", "T. Okafor"),
        row("Not explained, the lawn included", "215 ± 16", "215", "16", "what is left over", "worked out"),
    )
    note = (
        "A film left on 21,000 square feet of broom-finished concrete holds from 130 to 330 gal by assumption; it is "
        "not a reading and is not subtracted."
    )
    return Table(columns, rows, caption="The water, in US gallons", note=note)


def proof(paper: Paper = "letter") -> Page:
    """The record of one invented job, first sheet and details."""
    facts = (
        Fact("Contractor", "Bluebank Wash Recovery, 12 Quay Lane, Port Alder"),
        Fact("Client", "Gull Point Market Hall"),
        Fact("Site", "Loading dock and east deck, 400 Gull Point Road"),
        Fact("Worked", "13 May 2031, 20:40 to 14 May 2031, 02:10 (UTC-07:00)"),
        Fact("Issued", "16 May 2031"),
        Fact("Replaces", "nothing, first issue"),
    )
    drains = Table(
        (Column("Drain"), Column("How it was covered"), Column("On"), Column("Off"), Column("Seen")),
        (
            words("D1, by the dock ramp", "rubber mat, weighted", "20:35", "02:20", "none seen entering"),
            words("D2, east deck", "berm and drain plug", "20:35", "not read", "not watched after 01:00"),
            words("D3, street side", "filter sock only", "20:50", "02:20", "water seen entering, about 01:45"),
        ),
        caption="Storm drains",
    )
    filters = Table(
        (
            Column("Stage"),
            Column("Opening", numeric=True, unit="µm"),
            Column("Water through", numeric=True, unit="gal"),
            Column("What was done"),
        ),
        (
            (
                Cell("Screen at the vacuum head"),
                Cell("800", "800", "µm"),
                Cell("not read"),
                Cell("rinsed twice"),
            ),
            (Cell("Sock"), Cell("200", "200", "µm"), Cell("965", "965", "gal"), Cell("changed at 23:10")),
            (
                Cell("Bag at handover"),
                Cell("50", "50", "µm"),
                Cell("940", "940", "gal"),
                Cell("new, kept for disposal"),
            ),
        ),
        caption="Filter stages",
    )
    blocks = (
        where_table(),
        water_table(),
        water_path(),
        OpenItems(
            "Still awaited",
            ("The lawn's volume: no reading was made; it will stay unknown.", "Photo of drain D2 uncovered."),
        ),
        Statement(
            "These are our records of this job as of 16 May 2031; they do not replace a permit or an inspection; the "
            "local permit governs.",
            "Ines Marsh",
            "office, Bluebank Wash Recovery",
            "16 May 2031",
        ),
        PageBreak(),
        Heading("What else was recorded"),
        drains,
        filters,
        Heading("Cleaning agent", 3),
        Paragraph("Alkaline degreaser, 1 part of concentrate to 20 parts of water, 3.5 gal of mix on the dock ramp."),
        Heading("What went wrong", 3),
        Bullets(
            (
                "About 01:45 some water passed the filter sock at D3. Amount unknown. The crew moved the vacuum there.",
                "The cut-off float stopped the vacuum once, at 23:05, because the sock was plugged.",
            )
        ),
        Heading("Corrections and late entries", 3),
        Table(
            (Column("Entered"), Column("What"), Column("Was"), Column("Is"), Column("Why")),
            (words("15 May 2031, 09:12", "meter at the end", "43,990", "49,390", "keyed wrong"),),
        ),
        Heading("How to check this page", 3),
        Paragraph(
            "Ask the contractor for the book's answer on this file. It says by which book the page was issued, when, "
            "and whether a later page replaces it."
        ),
    )
    return Page(
        "proof",
        "Record of wash-water recovery",
        "GP-0007",
        "en",
        paper,
        facts,
        blocks,
        Footer(SENTENCE, CODE),
        issuer="Bluebank Wash Recovery",
        status="2 items awaited",
    )


def bars() -> Chart:
    sites = ("Gull Point Market Hall", "Alder Street Garage", "Ferry Terminal, lot C", "Cannery Row Bakery")
    values = (gal("4210", "40"), gal("2980", "35"), Cell("not read"), gal("610", "12"))
    return Chart("bars", "Captured, by site", "gal", sites, (Series("Captured", values),), "Site")


def stacked() -> Chart:
    weeks = ("1-7 May", "8-14 May", "15-21 May", "22-31 May")
    sewer = (gal("1800"), gal("2240"), gal("0"), gal("1500"))
    hauler = (gal("0"), gal("900"), gal("1450"), Cell("ticket awaited"))
    lawn = (gal("120"), Cell("not read"), gal("80"), gal("60"))
    series = (Series("Sanitary sewer", sewer), Series("Hauler", hauler), Series("Led to the lawn", lawn))
    return Chart("stacked", "Where it went, by week", "gal", weeks, series, "Week")


def line() -> Chart:
    days = tuple(f"{day} May" for day in range(1, 32))
    used = tuple(Cell(f"{400 + 37 * (d * d % 11)}", f"{400 + 37 * (d * d % 11)}", "gal") for d in range(31))
    got = tuple(
        Cell("not read") if d in (6, 7, 19) else Cell(f"{330 + 31 * (d * d % 11)}", f"{330 + 31 * (d * d % 11)}", "gal")
        for d in range(31)
    )
    return Chart(
        "line",
        "Used and captured, by day",
        "gal",
        days,
        (Series("Used", used), Series("Captured", got)),
        "Day",
    )


def points() -> Chart:
    jobs = ("GP-0007", "AS-0011", "FT-0002", "CR-0003", "GP-0008")
    left = (gal("215", "16"), gal("-12", "30"), Cell("cannot tell"), gal("44", "9"), gal("130", "52"))
    return Chart("points", "Not explained, by job", "gal", jobs, (Series("Not explained", left),), "Job", "With ±.")


def month(paper: Paper = "letter") -> Page:
    """An invented month with each kind of chart."""
    return Page(
        "month",
        "Month summary, May 2031",
        "M-2031-05",
        "en",
        paper,
        (Fact("Business", "Bluebank Wash Recovery"), Fact("Issued", "2 June 2031")),
        (
            Heading("Totals"),
            Facts((Fact("Jobs", "14"), Fact("Loads", "19"), Fact("Water aboard at the end", "40 ± 5 gal"))),
            Table(
                (
                    Column("Site"),
                    Column("Jobs", numeric=True),
                    Column("Used", numeric=True, unit="gal"),
                    Column("Captured", numeric=True, unit="gal"),
                ),
                (
                    (
                        Cell("Gull Point Market Hall"),
                        Cell("5", "5"),
                        Cell("5,120 ± 44", "5120", "gal", "44"),
                        Cell("4,210 ± 40", "4210", "gal", "40"),
                    ),
                    (
                        Cell("Alder Street Garage"),
                        Cell("4", "4"),
                        Cell("3,400 ± 38", "3400", "gal", "38"),
                        Cell("2,980 ± 35", "2980", "gal", "35"),
                    ),
                    (
                        Cell("Ferry Terminal, lot C"),
                        Cell("2", "2"),
                        Cell("900 ± 10", "900", "gal", "10"),
                        Cell("not read"),
                    ),
                    (
                        Cell("Cannery Row Bakery"),
                        Cell("3", "3"),
                        Cell("755 ± 12", "755", "gal", "12"),
                        Cell("610 ± 12", "610", "gal", "12"),
                    ),
                ),
                totals=(
                    Cell("All sites"),
                    Cell("14", "14"),
                    Cell("10,175 ± 60", "10175", "gal", "60"),
                    Cell("at least 7,800"),
                ),
                caption="By site",
            ),
            Heading("Pictures"),
            bars(),
            stacked(),
            line(),
            points(),
        ),
        Footer(SENTENCE, CODE),
        issuer="Bluebank Wash Recovery",
    )


def of(*blocks: object, paper: Paper = "letter") -> Page:
    """A page of nothing but these blocks."""
    return Page("test", "A page", "T-1", "en", paper, (), blocks, Footer(SENTENCE))  # type: ignore[arg-type]


def everything() -> Page:
    """Each kind of block once, in Spanish, for round trips."""
    return Page(
        "test",
        "Registro de recuperación de agua de lavado",
        "T-2",
        "es",
        "A4",
        (Fact("Cliente", "Mercado Gull Point"),),
        (
            Heading("Agua"),
            Paragraph("Texto", "muted"),
            Facts((Fact("a", "b"),)),
            water_table(),
            Bullets(("uno", "dos")),
            OpenItems("Falta", (), "No falta nada."),
            Statement("Estos son nuestros registros."),
            water_path(),
            *(one() for one in (bars, stacked, line, points)),
            PageBreak(),
            Small(("x", "y")),
        ),
        Footer("Rige el permiso local.", CODE),
    )
