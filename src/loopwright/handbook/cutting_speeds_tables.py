"""Cutting speeds as printed, by group of material, operation and tool; each row with its source.

The sources disagree by factors of two and more: they stand for other machines, tool lives, coatings and
cuts. That is no error to be averaged away, and so every row is kept. Units are those of the print: ``fpm``
feet a minute, ``m`` metres a minute. A dash for the cut means that the source makes no difference. *Flattened
print* marks a source of which only the running text was seen: rows and columns were matched by order and count.
"""

from collections.abc import Iterator
from types import MappingProxyType
from typing import Final, NamedTuple

SOURCES: Final = MappingProxyType(
    {
        "lms": "littlemachineshop.com, cutting speeds (after Machinery's Handbook; feed 0.004 in, depth 0.040 in, "
        "180 minutes of tool life)",
        "proto": "protocutter.com, recommended cutting speeds for drilling and reaming",
        "tm": "US TM-43-0106 (T.O. 1-1A-9), table 2-8, p. 2-72, turning",
        "griz": "Grizzly, G0619 manual, p. 26 (HSS; doubled for carbide)",
        "docs": "Machine tool speeds and feeds, docslib.org 5103932 (HSS; up to twice for carbide; columns drill, "
        "lathe, mill of a flattened print)",
        "newson": "Newson Tool, end mill speeds, table A: roughing to finishing (flattened print)",
        "navy": "US Navy manual 14345, p. 93, drilling (carbide two to three times)",
        "jet": "Jet, drill press manual J-2221VS, p. 12",
        "drill": "metal drilling reference guide, studylib.net 18232362 (flattened print)",
        "youssef": "H. A. Youssef and others, Fundamentals of machining processes, table 5.4",
        "isc92": "ISCAR, solid end mills 2022, p. 92 (by VDI 3323 group)",
        "isc226": "ISCAR, milling inserts 2022, p. 226 (coated grades, all listed; flattened print)",
        "tung": "Tungaloy, general catalogue 2020-2021, p. 1091, solid end mills (flattened print)",
        "ata": "ATA, catalogue 2022, p. 1301, solid end mills: roughing to finishing",
        "arno": "Arno, solid tools catalogue, p. 99, solid end mills",
        "torb": "Torbide Tooling, feeds and speeds, carbide end mills",
        "kyo": "Kyocera, main catalogue 2021-2022, p. 301, turning under 16 mm diameter",
        "dgi": "DGI Supply, recommended starting speeds for turning (three grades, feeds 0.004 to 0.020 in)",
        "jeefoo": "superhard tools for hard turning, jeefoowoodbits.com c2551",
        "curt": "Curbell, plastic turning guidelines (carbide C-2)",
        "curm": "Curbell, plastic milling guidelines",
        "medh": "Mechanical Engineer's Data Handbook, 5.7.5, p. 194",
        "medh6": "Mechanical Engineer's Data Handbook, 5.7.6, p. 194, negative rake cutting: roughing to finishing",
        "sgs": "SGS, router series 20 and 31, p. 12 (GFRP, diamond-coated or plain carbide)",
        "pcr": "SGS, router series 29, p. 4 (GFRP)",
        "usp": "usplastic.com, article 817: 12 in diamond wheel at 3000 to 6000 rpm",
        "lav": "Lavallee & Ide, tapping speeds",
        "clark": "Clarkson-Osborn, recommended cutting speeds for HSS taps",
        "tapdie": "The Tap & Die Co, tapping speeds",
        "iscth": "ISCAR, threading handbook, p. 223, solid carbide thread mills",
        "tmusa": "threadmillsusa.com, technical information",
        "mega": "Mega, H-550A band saw manual, p. 28 (bimetal, 6 in round; flattened print)",
        "b1037": "band saw blade reference guide, bulletin 1037 (scribd.com 468274939)",
        "sawb": "sawblade.com, band saw speed and feed chart (bimetal)",
        "mem": "from memory",
    }
)
"""Full name of each source by its short one."""

_TURNING_AND_MILLING: Final = """
= aluminium
turn HSS     -       500-600   fpm lms
turn HSS     -       350-700   fpm docs
turn carbide -       2820-2820 fpm lms
turn carbide -       100-200   m   kyo
turn carbide -       900-1200  m   medh6
turn diamond finish  150-350   m   kyo
mill HSS     -       250-500   fpm docs
mill HSS     -       300-300   fpm griz
mill HSS     -       600-800   fpm newson
mill carbide slot    300-750   m   tung
mill carbide side    350-850   m   tung
mill carbide -       200-450   m   arno
mill carbide -       367-440   m   ata
mill carbide -       800-2000  fpm torb
face carbide -       900-1200  m   medh6
= cast aluminium
turn HSS     -       600-750   fpm lms
turn carbide -       2820-2820 fpm lms
mill carbide -       150-350   m   arno
mill carbide -       294-352   m   ata
mill carbide -       500-1000  fpm torb
= free-cutting steel
turn HSS     resulphurised 270-290  fpm lms
turn HSS     leaded        200-260  fpm lms
turn carbide resulphurised 820-1045 fpm lms
turn carbide leaded        800-820  fpm lms
mill carbide -       210-300   m   isc92
face carbide -       130-300   m   isc226
= mild steel
turn HSS     -       125-215   fpm lms
turn HSS     -       100-250   fpm docs
turn carbide -       800-885   fpm lms
turn carbide -       230-300   m   medh6
mill HSS     -       70-120    fpm docs
mill HSS     -       75-90     fpm newson
mill HSS     -       90-90     fpm griz
mill carbide -       210-300   m   isc92
mill carbide slot    140-180   m   tung
mill carbide side    150-220   m   tung
mill carbide -       190-230   m   ata
face carbide -       130-300   m   isc226
face carbide -       230-300   m   medh6
= medium carbon steel
turn HSS     -       55-180    fpm lms
turn carbide -       670-970   fpm lms
turn carbide -       160-210   m   medh6
mill carbide -       200-250   m   isc92
mill carbide slot    140-180   m   tung
mill carbide side    150-220   m   tung
face carbide -       120-280   m   isc226
face carbide -       160-210   m   medh6
= low alloy steel, annealed
turn HSS     -       70-200    fpm lms
turn carbide -       430-685   fpm lms
mill HSS     350HB   50-70     fpm newson
mill carbide -       160-240   m   isc92
mill carbide slot    70-150    m   tung
mill carbide side    70-160    m   tung
mill carbide -       120-140   m   ata
face carbide -       100-240   m   isc226
= tool steel O1, annealed
turn HSS     -       125-125   fpm lms
turn HSS     -       50-150    fpm docs
turn carbide -       590-590   fpm lms
mill HSS     -       40-70     fpm docs
mill HSS     -       50-50     fpm griz
mill carbide -       160-240   m   isc92
face carbide -       100-240   m   isc226
= tool steel A2, annealed
turn HSS     -       80-125    fpm lms
turn HSS     -       50-150    fpm docs
turn carbide -       355-365   fpm lms
mill HSS     -       40-70     fpm docs
mill HSS     -       50-50     fpm griz
mill carbide -       130-200   m   isc92
face carbide -       80-210    m   isc226
= tool steel D2, annealed
turn HSS     -       50-150    fpm docs
mill HSS     -       40-70     fpm docs
mill HSS     -       50-50     fpm griz
mill carbide -       130-200   m   isc92
face carbide -       80-210    m   isc226
= hardened tool steel
turn CBN     finish  80-200    m   jeefoo
turn carbide finish  30-80     m   mem
mill carbide -       40-80     m   isc92
mill carbide slot    20-30     m   tung
mill carbide side    30-70     m   tung
= stainless steel 303
turn HSS     rough   25-55     fpm tm
turn HSS     finish  65-105    fpm tm
turn carbide rough   175-240   fpm tm
turn carbide finish  195-350   fpm tm
mill HSS     -       60-60     fpm griz
mill carbide -       60-110    m   isc92
mill carbide slot    60-100    m   tung
mill carbide side    80-130    m   tung
face carbide -       70-160    m   isc226
= stainless steel 304
turn HSS     -       115-135   fpm lms
turn HSS     rough   20-40     fpm tm
turn HSS     finish  50-80     fpm tm
turn HSS     -       60-180    fpm docs
turn carbide -       570-570   fpm lms
turn carbide rough   150-200   fpm tm
turn carbide finish  150-300   fpm tm
mill HSS     -       30-60     fpm docs
mill HSS     -       55-75     fpm newson
mill HSS     -       60-60     fpm griz
mill carbide -       60-110    m   isc92
mill carbide slot    60-100    m   tung
mill carbide side    80-130    m   tung
mill carbide -       94-113    m   ata
face carbide -       70-160    m   isc226
= martensitic stainless steel
turn HSS     rough   20-40     fpm tm
turn HSS     finish  55-90     fpm tm
turn carbide rough   165-220   fpm tm
turn carbide finish  165-330   fpm tm
mill HSS     -       35-50     fpm newson
mill carbide -       60-175    m   isc92
face carbide -       90-230    m   isc226
= grey iron
turn HSS     -       145-215   fpm lms
turn HSS     -       100-250   fpm docs
turn carbide -       410-410   fpm lms
turn carbide -       360-1800  fpm dgi
turn carbide -       80-150    m   kyo
mill HSS     -       80-120    fpm docs
mill HSS     -       60-80     fpm newson
mill HSS     -       80-80     fpm griz
mill carbide -       150-275   m   isc92
mill carbide slot    80-180    m   tung
mill carbide side    130-220   m   tung
mill carbide -       115-175   m   ata
face carbide -       200-320   m   isc226
= nodular iron
turn carbide -       330-1215  fpm dgi
turn carbide -       60-120    m   kyo
mill carbide -       90-200    m   isc92
face carbide -       160-250   m   isc226
= brass
turn HSS     -       300-350   fpm lms
turn HSS     -       250-500   fpm docs
turn carbide -       1170-1170 fpm lms
turn carbide -       600-900   m   medh6
turn diamond finish  150-350   m   kyo
mill HSS     -       150-450   fpm docs
mill HSS     -       150-150   fpm griz
mill carbide -       800-1500  fpm torb
face carbide -       600-900   m   medh6
= bronze
turn HSS     -       200-250   fpm lms
turn HSS     -       250-500   fpm docs
turn carbide -       715-715   fpm lms
turn carbide -       300-420   m   medh6
turn diamond finish  150-350   m   kyo
mill HSS     medium  250-300   fpm newson
mill HSS     hard    125-150   fpm newson
mill HSS     -       150-150   fpm griz
mill carbide -       800-1000  fpm torb
face carbide -       300-420   m   medh6
= copper
turn HSS     -       100-250   fpm docs
turn carbide -       450-540   m   medh6
turn diamond finish  150-350   m   kyo
mill HSS     -       100-200   fpm docs
mill HSS     -       100-100   fpm griz
face carbide -       450-540   m   medh6
= titanium
turn carbide -       30-70     m   kyo
turn diamond finish  100-150   m   kyo
mill HSS     -       25-40     fpm newson
mill HSS     -       40-60     fpm docs
mill HSS     -       50-50     fpm griz
mill carbide -       60-90     m   isc92
mill carbide slot    20-50     m   tung
mill carbide side    40-60     m   tung
mill carbide -       84-101    m   ata
= acetal
turn carbide -       980-1960  fpm curt
mill HSS     -       920-1640  fpm curm
mill HSS     -       300-800   fpm griz
= polyamide
turn carbide -       920-1640  fpm curt
turn HSS     -       126-300   m   medh
mill HSS     -       920-1640  fpm curm
mill HSS     -       300-300   m   medh
= PTFE
turn carbide -       490-1640  fpm curt
turn HSS     -       60-150    m   medh
mill HSS     -       920-1640  fpm curm
mill HSS     -       300-300   m   medh
= phenolic fabric
mill HSS     -       800-1000  fpm newson
mill HSS     -       300-800   fpm griz
= glass-epoxy laminate
mill carbide slot    320-320   fpm sgs
mill carbide side    400-400   fpm sgs
mill carbide light   660-660   fpm sgs
mill carbide slot    256-384   fpm pcr
mill carbide side    320-480   fpm pcr
mill carbide light   582-792   fpm pcr
mill diamond slot    320-320   fpm sgs
mill diamond side    400-400   fpm sgs
mill diamond light   660-660   fpm sgs
"""

_HOLES_AND_SAWING: Final = """
= aluminium
drill HSS     -       350-400   fpm proto
drill HSS     -       200-300   fpm navy
ream HSS      -       350-400   fpm proto
ream carbide  -       750-800   fpm proto
tap HSS       -       50-150    fpm lav
tap HSS       -       82-150    fpm clark
tap HSS       -       50-70     fpm tapdie
thread_mill carbide - 80-150    m   iscth
thread_mill carbide - 1200-1200 fpm tmusa
saw HSS       -       300-500   fpm mem
= cast aluminium
drill HSS     -       350-500   fpm proto
drill HSS     -       200-300   fpm navy
ream HSS      -       350-500   fpm proto
ream carbide  -       750-900   fpm proto
tap HSS       -       50-150    fpm lav
tap HSS       -       50-65     fpm clark
thread_mill carbide - 80-150    m   iscth
saw HSS       -       300-500   fpm mem
= free-cutting steel
drill HSS     resulphurised 120-125 fpm proto
drill HSS     leaded        120-130 fpm proto
ream HSS      resulphurised 80-80   fpm proto
ream HSS      leaded        80-85   fpm proto
ream carbide  -       350-400   fpm proto
tap HSS       -       40-80     fpm lav
tap HSS       -       50-60     fpm clark
thread_mill carbide - 60-120    m   iscth
thread_mill carbide - 550-550   fpm tmusa
saw HSS       -       259-321   fpm b1037
= mild steel
drill HSS     -       90-100    fpm proto
drill HSS     -       80-110    fpm navy
ream HSS      -       60-65     fpm proto
ream carbide  -       275-300   fpm proto
tap HSS       -       50-60     fpm clark
tap HSS       -       30-50     fpm tapdie
thread_mill carbide - 60-120    m   iscth
thread_mill carbide - 550-550   fpm tmusa
saw HSS       -       249-288   fpm b1037
saw HSS       -       230-275   fpm sawb
= medium carbon steel
drill HSS     -       75-90     fpm proto
drill HSS     -       70-80     fpm navy
ream HSS      -       50-60     fpm proto
ream carbide  -       200-250   fpm proto
tap HSS       -       50-60     fpm clark
tap HSS       -       20-40     fpm tapdie
thread_mill carbide - 60-120    m   iscth
thread_mill carbide - 450-450   fpm tmusa
saw HSS       -       180-219   fpm b1037
saw HSS       -       150-200   fpm sawb
= low alloy steel, annealed
drill HSS     -       80-90     fpm proto
drill HSS     -       50-70     fpm navy
ream HSS      -       50-60     fpm proto
ream carbide  -       225-250   fpm proto
tap HSS       -       32-50     fpm clark
tap HSS       -       15-25     fpm tapdie
thread_mill carbide - 50-80     m   iscth
thread_mill carbide - 450-450   fpm tmusa
saw HSS       -       180-219   fpm b1037
= tool steel O1, annealed
drill HSS     -       45-45     fpm proto
drill HSS     -       50-60     fpm jet
ream HSS      -       30-30     fpm proto
ream carbide  -       150-150   fpm proto
tap HSS       -       15-25     fpm tapdie
thread_mill carbide - 60-90     m   iscth
saw HSS       -       140-170   fpm mega
= tool steel A2, annealed
drill HSS     -       50-50     fpm proto
drill HSS     -       50-60     fpm jet
ream HSS      -       35-35     fpm proto
ream carbide  -       150-150   fpm proto
tap HSS       -       15-25     fpm tapdie
thread_mill carbide - 50-80     m   iscth
thread_mill carbide - 325-325   fpm tmusa
saw HSS       -       140-170   fpm mega
saw HSS       -       180-219   fpm b1037
= tool steel D2, annealed
drill HSS     -       30-30     fpm proto
ream HSS      -       20-20     fpm proto
ream carbide  -       80-80     fpm proto
tap HSS       -       15-25     fpm tapdie
thread_mill carbide - 50-80     m   iscth
thread_mill carbide - 225-225   fpm tmusa
saw HSS       -       75-85     fpm mega
saw HSS       -       65-98     fpm b1037
= hardened tool steel
drill carbide -       10-30     m   mem
thread_mill carbide - 20-40     m   mem
= stainless steel 303
drill HSS     -       85-85     fpm proto
drill HSS     cold-drawn 70-70  fpm proto
drill HSS     -       30-80     fpm drill
ream HSS      -       55-55     fpm proto
ream HSS      cold-drawn 45-45  fpm proto
ream carbide  -       200-225   fpm proto
tap HSS       -       22-32     fpm clark
tap HSS       -       10-20     fpm tapdie
tap HSS       -       5-35      fpm lav
thread_mill carbide - 60-90     m   iscth
thread_mill carbide - 350-350   fpm tmusa
saw HSS       -       90-100    fpm mega
= stainless steel 304
drill HSS     -       55-55     fpm proto
drill HSS     cold-drawn 50-50  fpm proto
drill HSS     -       30-40     fpm navy
drill HSS     -       15-50     fpm drill
ream HSS      -       35-35     fpm proto
ream HSS      cold-drawn 30-30  fpm proto
ream carbide  -       125-150   fpm proto
tap HSS       -       16-22     fpm clark
tap HSS       -       10-20     fpm tapdie
tap HSS       -       5-35      fpm lav
thread_mill carbide - 60-90     m   iscth
thread_mill carbide - 350-350   fpm tmusa
saw HSS       -       80-90     fpm mega
= martensitic stainless steel
drill HSS     -       65-75     fpm proto
ream HSS      -       45-50     fpm proto
ream carbide  -       200-225   fpm proto
tap HSS       -       10-20     fpm tapdie
tap HSS       -       5-35      fpm lav
thread_mill carbide - 60-90     m   iscth
thread_mill carbide - 250-400   fpm tmusa
saw HSS       -       70-80     fpm mega
= grey iron
drill HSS     -       80-100    fpm proto
drill HSS     -       70-150    fpm navy
drill HSS     -       70-150    fpm jet
ream HSS      -       55-65     fpm proto
ream carbide  -       180-300   fpm proto
tap HSS       -       50-100    fpm lav
tap HSS       -       30-80     fpm clark
tap HSS       -       30-60     fpm tapdie
thread_mill carbide - 40-80     m   iscth
thread_mill carbide - 500-500   fpm tmusa
saw HSS       -       100-180   fpm mem
= nodular iron
drill HSS     -       50-100    fpm proto
ream HSS      -       30-65     fpm proto
ream carbide  -       140-300   fpm proto
tap HSS       -       20-40     fpm clark
thread_mill carbide - 40-80     m   iscth
thread_mill carbide - 425-425   fpm tmusa
saw HSS       -       80-150    fpm mem
= brass
drill HSS     -       200-300   fpm navy
drill HSS     -       200-300   fpm jet
tap HSS       -       50-200    fpm lav
tap HSS       -       50-115    fpm clark
tap HSS       -       60-100    fpm tapdie
thread_mill carbide - 1000-1000 fpm tmusa
saw HSS       -       200-400   fpm mem
= bronze
drill HSS     -       200-300   fpm navy
drill HSS     high-tensile 70-150 fpm jet
tap HSS       -       50-100    fpm lav
tap HSS       -       30-40     fpm tapdie
saw HSS       -       100-250   fpm mem
= copper
drill HSS     -       70-70     fpm docs
tap HSS       -       30-60     fpm lav
tap HSS       -       60-80     fpm tapdie
saw HSS       -       150-300   fpm mem
= titanium
drill HSS     -       30-30     fpm docs
drill HSS     -       12-12     m   youssef
tap HSS       -       10-40     fpm lav
tap HSS       -       22-40     fpm clark
thread_mill carbide - 20-40     m   iscth
thread_mill carbide - 250-250   fpm tmusa
saw HSS       -       50-80     fpm mem
= acetal
drill HSS     -       100-300   fpm drill
tap HSS       -       50-100    fpm lav
tap HSS       -       60-105    fpm clark
tap HSS       -       50-70     fpm tapdie
thread_mill carbide - 50-200    m   iscth
saw HSS       -       500-3000  fpm mem
= polyamide
drill HSS     -       120-300   m   medh
tap HSS       -       50-100    fpm lav
tap HSS       -       60-105    fpm clark
thread_mill carbide - 50-200    m   iscth
saw HSS       -       500-3000  fpm mem
= PTFE
drill HSS     -       75-300    m   medh
tap HSS       -       50-100    fpm lav
tap HSS       -       60-105    fpm clark
thread_mill carbide - 50-200    m   iscth
saw HSS       -       500-3000  fpm mem
= phenolic fabric
drill HSS     -       100-300   fpm drill
tap HSS       -       80-90     fpm lav
tap HSS       -       22-40     fpm clark
thread_mill carbide - 50-200    m   iscth
saw HSS       -       1000-3000 fpm mem
= glass-epoxy laminate
drill carbide -       60-200    m   mem
tap carbide   -       22-40     fpm clark
thread_mill carbide - 50-200    m   iscth
saw diamond   -       9425-18850 fpm usp
"""


class PrintedSpeed(NamedTuple):
    """One row as printed: group, operation, tool, cut ('' for any), speed in ``unit``, key of the source."""

    group: str
    operation: str
    tool: str
    cut: str
    low: float
    high: float
    unit: str
    source: str


def _read(text: str) -> Iterator[PrintedSpeed]:
    group = ""
    for line in text.strip().splitlines():
        if line.startswith("= "):
            group = line[2:]
            continue
        operation, tool, cut, speed, unit, source = line.split()
        low, high = (float(end) for end in speed.split("-"))
        cut = "" if cut == "-" else cut.replace("-", " ")
        yield PrintedSpeed(group, operation.replace("_", " "), tool, cut, low, high, unit, source)


PRINTED_SPEEDS: Final = (*_read(_TURNING_AND_MILLING), *_read(_HOLES_AND_SAWING))
"""Every row, in the unit of its print."""

SAWING_RATES: Final = MappingProxyType(
    {
        "free-cutting steel": (38, 47),
        "mild steel": (27, 38),
        "medium carbon steel": (20, 22),
        "low alloy steel, annealed": (15, 20),
        "tool steel A2, annealed": (7, 10),
        "tool steel D2, annealed": (5, 7),
    }
)
"""Section sawn by a production band saw, in²/min, (low, high), by group. Band saw blade reference guide, bulletin
1037; a small saw does a quarter of it (common practice)."""
