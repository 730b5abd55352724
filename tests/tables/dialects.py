"""How tables are written: our own collection of dialects, each with what it must come to.

A case is a text, the kind of table, where it goes, and what comes of it: ``taken`` (rows as
tuples), ``offered`` (not sure: the reason at the column), or ``refused`` (codes by line). Frames by
the relation of half-speed distributors (common practice): crank figures are twice the
distributor's, with static added. Units: NIST SP 811 (2008), App. B.8.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from bobweight.core.tables.frames import Place

LAMP = Place("crank", "crank-static", 2.0, 8.0)
RIG = Place("distributor", "distributor", 2.0, 8.0)
DISTRIBUTOR = Place("distributor", "distributor", 2.0, 8.0)
CRANK = Place("crank", "crank", 2.0, 8.0)
NO_STATIC = Place("distributor", "distributor", 2.0, None)


@dataclass(frozen=True)
class Case:
    """One dialect."""

    name: str
    text: str
    taken: tuple = ()
    kind: str = "readings"
    place: Place = LAMP
    unsure: tuple = ()
    refused: dict = field(default_factory=dict)
    settings: dict = field(default_factory=dict)


TWO = ((1200.0, 12.5), (1500.0, 14.25))
U, D = "rising", "falling"

READINGS = (
    Case("commas", "rpm,deg\n1200,12.5\n1500,14.25\n", TWO),
    Case("commas and blanks", "rpm, deg\n1200, 12.5\n1500, 14.25\n", TWO),
    Case("semicolons, decimal comma", "rpm;deg\n1200;12,5\n1500;14,25\n", TWO),
    Case("semicolons, decimal point", "rpm;deg\n1200;12.5\n1500;14.25\n", TWO),
    Case("tabs, as copied from a spreadsheet", "rpm\tdeg\r\n1200\t12.5\r\n1500\t14.25\r\n", TWO),
    Case("tabs, decimal comma, old line ends", "rpm\tdeg\r1200\t12,5\r1500\t14,25\r", TWO),
    Case("spaces", "rpm deg\n1200 12.5\n1500 14.25\n", TWO),
    Case("columns of fixed width with an empty cell",
         "Engine speed   Advance  Depression\n  (rpm)         (deg)     (inHg)\n"
         " 1200         12.5        5\n 1500         14.25\n 1800         16          6\n",
         ((1200.0, 12.5, 16.931945), (1500.0, 14.25), (1800.0, 16.0, 20.318334))),
    Case("drawn with strokes", "| rpm | deg |\n|---|---|\n| 1200 | 12.5 |\n| 1500 | 14.25 |", TWO),
    Case("ruled text", "rpm    deg\n-----  -----\n1200   12.5\n1500   14.25\n", TWO),
    Case("quoted", '"rpm","deg"\n"1200","12,5"\n"1500","14,25"\n', TWO),
    Case("thousands with a comma, quoted", 'rpm,deg\n"1,200",12.5\n"1,500",14.25\n', TWO),
    Case("thousands with a point", "rpm;deg\n1.200;12,5\n1.500;14,25\n", TWO),
    Case("thousands with a blank", "rpm;deg\n1 200;12,5\n1 500;14,25\n", TWO),
    Case("thousands with a narrow blank", "rpm\tdeg\n1\u202f200\t12,5\n1\u202f500\t14,25\n", TWO),
    Case("thousands with an apostrophe", "rpm\tdeg\n1'200\t12.5\n1'500\t14.25\n", TWO),
    Case("the separator announced", "sep=;\nrpm;deg\n1200;12,5\n1500;14,25\n", TWO),
    Case("cells kept as text", 'rpm,deg\n="1200","=""12.5"""\n=\"1500\",14.25\n', TWO),
    Case("a byte order mark", "\ufeffrpm;deg\n1200;12,5\n1500;14,25\n", TWO),
    Case("comments", "# warm\nrpm,deg\n// first\n1200,12.5\n1500,14.25\n% end\n", TWO),
    Case("the heading in a comment", "# rpm deg\n1200 12.5\n1500 14.25\n", TWO),
    Case("a title and lines about it",
         "Readings of a tractor,\nDate: 3 May 1962,\n\nrpm,deg\n1200,12.5\n1500,14.25\n", TWO),
    Case("the heading again on a second sheet", "rpm,deg\n1200,12.5\nrpm,deg\n1500,14.25\n", TWO),
    Case("units on a line of their own", "Speed;Angle\nrev/min;°\n1200;12,5\n1500;14,25\n", TWO),
    Case("units in the cells, no heading", "1200 rpm\t12.5°\n1500 rpm\t14.25°\n", TWO),
    Case("down the left side", "rpm,1200,1500\ndeg,12.5,14.25\n", TWO),
    Case("other languages", "Drehzahl (1/min);Zündwinkel\n1200;12,5\n1500;14,25\n", TWO),
    Case("numbered rows", "No,rpm,deg\n1,1200,12.5\n2,1500,14.25\n", TWO),
    Case("numbered rows under #", "#,rpm,deg\n1,1200,12.5\n2,1500,14.25\n", TWO),
    Case("numbered rows under nothing", ",rpm,deg\n0,1200,12.5\n1,1500,14.25\n", TWO),
    Case("a clock and the weather", "time (s),rpm,deg,oil temp °C,battery volts\n"
         "0.1,1200,12.5,80,13.8\n0.2,1500,14.25,81,13.9\n", TWO),
    Case("dwell beside it", "rpm,dwell (deg),advance (deg)\n1200,60,12.5\n1500,59,14.25\n", TWO),
    Case("revolutions a second", "rev/s,deg\n20,12.5\n25,14.25\n", TWO),
    Case("hertz", "speed (Hz),deg\n20,12.5\n25,14.25\n", TWO),
    Case("r/s", "speed r/s,deg\n20,12.5\n25,14.25\n", TWO),
    Case("radians", "speed (rad/s),advance (rad)\n125.66370614359172,0.2181661564992912\n",
         ((1200.0, 12.5),)),
    Case("thousands of revolutions", "rpm x1000,deg\n1.2,12.5\n1.5,14.25\n", TWO),
    Case("rising and falling", "rpm,rising,falling\n1200,12,13\n1500,14,\n",
         ((1200.0, 12.0, U), (1200.0, 13.0, D), (1500.0, 14.0, U))),
    Case("rising and falling under one heading",
         "Speed;Advance;;Vacuum\nrpm;up;down;inHg\n1200;12;13;\n",
         ((1200.0, 12.0, U), (1200.0, 13.0, D))),
    Case("a column for the direction", "rpm,deg,direction\n1200,12,up\n1500,14,falling\n",
         ((1200.0, 12.0, U), (1500.0, 14.0, D))),
    Case("three repeats", "rpm,deg 1,deg 2,deg 3\n1200,12,13,14\n",
         ((1200.0, 12.0), (1200.0, 13.0), (1200.0, 14.0))),
    Case("inHg", "rpm,deg,vacuum inHg\n1200,12,5\n", ((1200.0, 12.0, 16.931945),)),
    Case("mmHg", "rpm,deg,vacuum (mmHg)\n1200,12,100\n", ((1200.0, 12.0, 13.33224),)),
    Case("mbar", "rpm,deg,mbar\n1200,12,100\n", ((1200.0, 12.0, 10.0),)),
    Case("psi", "rpm,deg,suction [psi]\n1200,12,2\n", ((1200.0, 12.0, 13.789514),)),
    Case("kPa, with a unit in one cell", "rpm,deg,kPa\n1200,12,10\n1500,14,3 inHg\n",
         ((1200.0, 12.0, 10.0), (1500.0, 14.0, 10.159167))),
    Case("distributor figures read with a lamp",
         "distributor rpm,distributor deg\n600,2\n750,3\n", ((1200.0, 12.0), (1500.0, 14.0))),
    Case("engine speed, distributor degrees", "engine rpm,distributor deg\n1200,2\n",
         ((1200.0, 12.0),)),
    Case("crank advance without static read with a lamp",
         "engine rpm,crank advance without static\n1200,4\n", ((1200.0, 12.0),)),
    Case("before top dead centre on a rig", "engine rpm,° BTDC\n1200,12\n",
         ((600.0, 2.0),), place=RIG),
    Case("crank advance on a rig", "crank rpm,crank advance\n1200,4\n", ((600.0, 2.0),), place=RIG),
    Case("after dead centre in a cell", "rpm,deg\n1200,3 ATDC\n1500,14 BTDC\n",
         ((1200.0, -3.0), (1500.0, 14.0))),
    Case("two speeds", "engine rpm,distributor rpm,crank deg\n1200,600,12\n", ((1200.0, 12.0),)),
    Case("degrees and minutes", "rpm\tdeg\n1200\t12°30′\n", ((1200.0, 12.5),)),
    Case("nothing read in a cell", "rpm,deg,inHg\n1200,12,-\n1500,14,n/a\n",
         ((1200.0, 12.0), (1500.0, 14.0))),
    # Refused, row by row
    Case("a row of means", "rpm,deg\n1200,12\nMean,13\n", ((1200.0, 12.0),),
         refused={3: "summary-row"}),
    Case("numbered rows and a total", "No,rpm,deg\n1,1200,12\n2,1500,14\nTotal,2700,26\n",
         ((1200.0, 12.0), (1500.0, 14.0)), refused={4: "summary-row"}),
    Case("another table below", "rpm,deg\n1200,12\n\ninHg,vacuum deg\n5,3\n", ((1200.0, 12.0),),
         refused={4: "second-table", 5: "second-table"}),
    Case("rows above the heading", "1200,12\nrpm,deg\n1500,14\n", ((1500.0, 14.0),),
         refused={1: "row-before-heading"}),
    Case("a decimal comma between commas", "rpm,deg\n1200,12,5\n1500,14\n", ((1500.0, 14.0),),
         refused={2: "comma-ambiguous"}),
    Case("more cells than headings", "rpm,deg\n1200,12,33\n1500,14\n", ((1500.0, 14.0),),
         refused={2: "too-many-cells-for-heading"}),
    Case("turned into dates", "rpm,deg\n1200,5-Jul\n1500,2024-07-05\n1800,14\n", ((1800.0, 14.0),),
         refused={2: "cell-is-date", 3: "cell-is-date"}),
    Case("another unit in a cell", "rpm,deg\n1200 km/h,12\n1500,14\n", ((1500.0, 14.0),),
         refused={2: "unknown-unit"}),
    Case("thousands or thousandths", "rpm\tdeg\n1.200\t12\n1.500\t14\n", (),
         refused={2: "comma-ambiguous", 3: "comma-ambiguous"}),
    # Offered, not taken
    Case("no heading", "1200\t12.5\n1500\t14.25\n", TWO,
         unsure=((1, "not-named"), (2, "not-named"))),
    Case("swapped, no heading", "12.5\t1200\n14.25\t1500\n", TWO,
         unsure=((1, "not-named"), (2, "not-named"))),
    Case("headings swapped", "deg,rpm\n1200,12.5\n1500,14.25\n", TWO,
         unsure=((1, "swapped"), (2, "swapped"))),
    Case("a third number without a heading", "1200;12;5\n1500;14;6\n", (),
         unsure=((1, "not-named"), (2, "not-named")),
         refused={1: "number-not-named", 2: "number-not-named"}),
    Case("numbered rows, no heading", "1;1200;12\n2;1500;14\n3;1800;16\n",
         ((1200.0, 12.0), (1500.0, 14.0), (1800.0, 16.0)),
         unsure=((2, "not-named"), (3, "not-named"))),
    Case("letters for headings", "N,a\n1200,12.5\n1500,14.25\n", TWO,
         unsure=((1, "not-named"), (2, "not-named"))),
    Case("vacuum without a unit", "rpm,deg,vacuum\n1200,12,10\n", ((1200.0, 12.0, 10.0),),
         unsure=((3, "unit-not-told"),)),
    Case("a slow speed without a unit", "speed,angle\n20,12\n25,14\n", ((20.0, 12.0), (25.0, 14.0)),
         unsure=((1, "unit-not-told"),)),
    Case("road speed", "speed (km/h),deg\n60,12\n", ((60.0, 12.0),), unsure=((1, "unknown-unit"),)),
    Case("distributor speed, degrees of something", "distributor rpm,deg\n600,2\n",
         ((1200.0, 12.0),), unsure=((2, "frame-not-told"),)),
    Case("crank degrees on a rig, static or not", "engine rpm,crank deg\n1200,12\n",
         ((600.0, 6.0),), place=RIG, unsure=((2, "static-not-told"),)),
    Case("with static, which is not known", "engine rpm,° BTDC\n1200,12\n", (), place=NO_STATIC,
         unsure=((2, "table-static-needed"),), refused={2: "table-static-needed"}),
    Case("two angles that differ", "rpm,advance,timing\n1200,12,20\n", ((1200.0, 12.0),),
         unsure=((2, "twice"),)),
    Case("no angle at all", "rpm,oil pressure\n1200,3\n", (), refused={2: "missing"},
         unsure=("angle_deg",)),
)  # fmt: skip

TARGETS = (
    Case("bands in a cell", "rpm,deg\n1200,5-7\n1500,5¼–7\n", ((1200.0, 5.0, 7.0),
         (1500.0, 5.25, 7.0))),
    Case("fractions in words", "rpm;deg\n1200;5 1/4 to 7 1/2\n", ((1200.0, 5.25, 7.5),)),
    Case("a middle and a tolerance", "rpm;deg\n1200;6 ± 1\n1500;8 +/- 0,5\n",
         ((1200.0, 5.0, 7.0), (1500.0, 7.5, 8.5))),
    Case("nominal and tolerance in columns", "rpm,nominal,±\n1200,6,1\n", ((1200.0, 5.0, 7.0),)),
    Case("least and most", "rpm,least,most\n1200,5,7\n", ((1200.0, 5.0, 7.0),)),
    Case("min and max", "rev/min;min;max\n1200;5,5;7\n", ((1200.0, 5.5, 7.0),)),
    Case("one limit only", "rpm,deg\n600,max 1\n1500,≥ 8\n", ((600.0, None, 1.0),
         (1500.0, 8.0, None))),
    Case("no advance below", "rpm,deg\n1200,5-7\nNo advance below 500 rpm,\n",
         ((1200.0, 5.0, 7.0),), settings={"no_advance_below_rpm": 500.0}),
    Case("no advance in a cell", "rpm,deg\n500,nil\n1200,5-7\n", ((1200.0, 5.0, 7.0),),
         settings={"no_advance_below_rpm": 500.0}),
    Case("crank figures into a distributor table",
         "crank rpm,crank min,crank max\n1000,0,2\n2400,10,14\n",
         ((500.0, 0.0, 1.0), (1200.0, 5.0, 7.0))),
    Case("crank advance into a distributor table", "engine rpm,crank advance\n2400,10-14\n",
         ((1200.0, 5.0, 7.0),)),
    Case("before top dead centre into a distributor table", "engine rpm,deg BTDC\n2400,18-22\n",
         ((1200.0, 5.0, 7.0),)),
    Case("distributor figures into a crank table",
         "distributor rpm,distributor deg\n1200,5-7\n1500,8 ± 1\n",
         ((2400.0, 10.0, 14.0), (3000.0, 14.0, 18.0)), place=CRANK),
    Case("crank speed, degrees of something", "crank rpm,least,most\n2400,10,14\n",
         ((1200.0, 5.0, 7.0),), unsure=((2, "frame-not-told"), (3, "frame-not-told"))),
    Case("crank degrees, static or not", "crank rpm,crank deg\n2400,10-14\n", ((1200.0, 5.0, 7.0),),
         unsure=((2, "static-not-told"),)),
    Case("turned into dates", "rpm,deg\n1200,5-Jul\n1500,8-9\n", ((1500.0, 8.0, 9.0),),
         refused={2: "cell-is-date"}),
    Case("limits crossed", "rpm,least,most\n1200,7,5\n", (), refused={2: "limits-crossed"}),
    Case("no heading", "1200,5,7\n1500,8,10\n", ((1200.0, 5.0, 7.0), (1500.0, 8.0, 10.0)),
         unsure=((1, "not-named"), (2, "not-named"), (3, "not-named"))),
    Case("vacuum by its unit", "inHg,deg\n5,2-3\n", ((16.931945, 2.0, 3.0),)),
    Case("vacuum without a unit", "vacuum,least,most\n5,2,3\n", ((5.0, 2.0, 3.0),),
         unsure=((1, "unit-not-told"),)),
    Case("a capsule that retards", "kPa;least;most\n10;-3;-5\n", ((10.0, -5.0, -3.0),)),
)  # fmt: skip

TRAYS = (
    Case("labels under Tin", "Tin,rate (N/mm)\nA1,5\nB,6\n", (("A1", 5.0), ("B", 6.0))),
    Case("labels under a word of his own", "Tobacco;rate N/mm\nA1;5,5\nB;6\n",
         (("A1", 5.5), ("B", 6.0))),
    Case("numbers for labels", "No,stiffness [N/mm]\n1,5\n2,6\n", (("1", 5.0), ("2", 6.0))),
    Case("pounds and inches", "spring,rate (lb/in),free length (in)\nA,10,1\n",
         (("A", 1.7512683524647636, 25.4),)),
    Case("a rate without a unit", "label,rate\nA,5\n", (("A", 5.0),),
         unsure=((2, "unit-not-told"),)),
    Case("a unit that is none", "label,rate (km)\nA,5\n", (("A", 5.0),),
         unsure=((2, "unknown-unit"),)),
    Case("no rate", "label,free length (mm)\nA,20\n", (), refused={2: "missing"},
         unsure=("rate_n_per_mm",)),
    Case("a spring without its rate", "label,rate N/mm\nA,\nB,5\n", (("B", 5.0),),
         refused={2: "missing"}),
)  # fmt: skip
