"""The search in a library of about 2,000 notes as repair cafés write them down: long, rambling, misspelt, brands within.

    python tests/benchmarks/finding_noisy.py [--notes 2100] [--queries 400]

Everything is generated from what stands here, by the hand that wrote the thesaurus, though without it at hand, and by
chance: which of its causes a kind of device has, which of its symptoms a cause shows, how somebody puts that, what else
is told, what is misspelt. A symptom has many causes and one text in seven has a symptom that does not go with its cause,
so that nobody could be right each time. Queries are texts of notes that are left out.

Prints, without and with the kind of device: hit@1, hit@5, MRR@10 (a result is right when it has kind and cause), vote (of
the ten first, each counting 1 / its rank, is the cause right), the panel of causes: how often its first is right, what it
says of that, the calibration error in ten bins (Guo and others, 2017), and, by cross-validation within the library, the
same. Last, what SQLite's FTS5 makes of the same.
"""

from __future__ import annotations

import argparse
import random
import sys
import time
from collections import defaultdict
from collections.abc import Callable
from pathlib import Path

HERE = Path(__file__).resolve().parent
sys.path[:0] = [str(HERE), str(HERE.parent.parent)]

from finding import Fts, misspell  # noqa: E402
from finding_small import error_of  # noqa: E402

from generator.finding.index import build_index  # noqa: E402
from generator.finding.record import Cause, Record  # noqa: E402

# symptom: how people put it
SAID = {
    "dead": "does not turn on anymore; dead; no power; won't start; completely dead; not working, no lights; doesnt power up; nothing happens when switched on; no sign of life; stopped working suddenly; just stopped; wont switch on; does not come on; no response at all; has given up the ghost; not turning on; worked yesterday, today nothing; failed to start",
    "trips": "trips the RCD; blows fuse; trips electrics when plugged in; fuse blows as soon as switched on; blew the fuse with a bang; knocks out the house electrics; short circuit; trips breaker after a few secs",
    "cuts out": "cuts out after a few minutes; stops after 5 mins; turns itself off; runs for a while and then stops; switches off when hot; keeps cutting out; goes off after a short time; dies after about a minute; shuts down randomly",
    "intermittent": "intermittent; works intermittently; only works if cable held in certain position; loose connection; sometimes works sometimes not; on and off; have to wiggle the lead; temperamental; comes and goes; power cuts in and out",
    "no heat": "not heating up; does not heat; no heat; stays cold; only blows cold air; not getting hot enough; element not heating; doesn't get warm; lukewarm only; lights come on but no heat",
    "too hot": "overheats; gets too hot; burning everything; thermostat not working; will not switch off when hot; scorches the cloth",
    "noise": "noisy; makes a grinding noise; loud rattling; strange noise when running; squeaks; very loud; screeching; knocking sound; vibrates badly",
    "hums": "hums but does not spin; just buzzes; humming noise; makes a buzzing sound only; motor hums; buzz from speakers",
    "smell": "burning smell; smoke came out; smells of burning; sparks and smoke; burnt smell then stopped; smoking; smelt hot then died; sparked inside",
    "leaks": "leaking; leaks water; water leaking from base; drips; leaking from underneath; water everywhere; leaks when filled",
    "no charge": "not charging; won't charge; does not hold charge; charging port loose; does not charge any more; charger light does not come on; battery not charging",
    "runs down": "battery dies quickly; battery does not last; battery drains fast; runs down in minutes; low battery all the time; battery flat; short battery life; swollen battery",
    "no sound": "no sound; no audio; sound on one side only; speaker not working; lost sound; very quiet; no sound from left speaker",
    "crackles": "crackling; distorted sound; scratchy volume; crackles when volume is turned; sound breaks up; hiss; muffled",
    "no picture": "no picture; black screen; screen blank; lines on screen; display not working; dim screen; screen flickers; screen cracked",
    "no spin": "does not spin; motor not running; blades do not turn; turntable not turning; brush does not rotate; drum not turning; not rotating; motor runs but does not turn",
    "stuck": "jammed; stuck; seized up; won't open; lid stuck; drawer stuck; will not move; stiff",
    "slow": "runs slow; low power; weak; lost power; slow to start; no torque; running very slowly; speeds up and slows down",
    "no suction": "no suction; poor suction; lost suction; not picking up; suction weak; blocked; does not suck",
    "no water": "no water coming through; no steam; pump not working; water not coming out; blocked; does not pump; only a trickle; no coffee comes out",
    "stuck on": "will not turn off; always on; does not stop; stays on; keeps running; runs all the time",
    "no stitch": "not stitching; thread bunching underneath; skips stitches; tension wrong; thread keeps breaking; bobbin jams; needle hits plate; won't pick up the lower thread; needs a service",
    "no print": "does not print; prints blank pages; paper jam; lines across page; ink not recognised; will not feed paper; offline all the time; streaky print; printer head blocked; scanner error",
    "slow computer": "very slow; needs updating; running slow; full of viruses; windows won't start; stuck on loading screen; blue screen; freezes; keeps crashing; forgotten password; will not boot; update failed; out of memory; reset needed",
    "no network": "wifi not connecting; bluetooth won't pair; no signal; does not connect to the internet; no reception; drops connection",
    "no keys": "some keys not working; keyboard not responding; touchscreen not responding; buttons do not work; touchpad dead; home button stuck; mouse not working",
    "no disc": "does not read discs; disc stuck inside; CD skips; tray won't open; chews tapes; no disc error; needle jumps; cassette does not play",
    "no light": "light not working; bulb blown; flickers; led strip half out; bulb keeps blowing; won't light up; light flickers; dim",
    "no time": "loses time; stopped; does not tick; hands stuck; does not chime; runs fast; display wrong; overwound",
    "broken part": "handle broken; cracked case; lever broken; bit snapped off; broken clip; wheel fell off; knob missing; broken hinge; casing broken; foot missing",
    "not down": "lever won't stay down; won't latch; handle pops up; bread does not stay down; pops straight up",
    "torn": "torn seam; zip broken; hole in elbow; rip in lining; button off; strap come away; hem down; moth holes; zip stuck",
    "cable": "damaged cable; flex frayed; exposed wires; cord cut by mower; plug missing; needs new plug; lead pulled out; wire broken near plug",
}  # fmt: skip
# cause: (how common), symptoms that it shows and how often, what owners guess
CAUSES = {
    "fuse blown": ("dead 6, trips 3, smell 1", "Blown fuse?; fuse?; checked fuse; fuse replaced but blew again"),
    "power cable broken": ("intermittent 4, dead 3, cable 5, smell 1", "Cable?; possibly loose wire; lead suspect; plug changed"),
    "switch worn": ("dead 3, intermittent 3, stuck on 2, not down 1", "switch?; on/off switch feels loose; button problem"),
    "thermal fuse open": ("no heat 4, dead 4, cuts out 1", "overheated once; thermal cut out?; left on too long"),
    "heating element failed": ("no heat 5, trips 2, dead 1", "element gone?; element?"),
    "motor burnt out": ("smell 3, no spin 3, hums 2, slow 1, dead 2", "motor?; motor gone"),
    "brushes worn": ("smell 1, intermittent 2, slow 2, no spin 2, noise 1", "sparks inside; brushes?"),
    "bearing worn": ("noise 5, slow 1, hums 2, stuck 1", "needs oil?; bearings?"),
    "blockage": ("no suction 5, no water 4, cuts out 2, no print 2, noise 1", "blocked?; cleaned filter already; descaled already"),
    "seal perished": ("leaks 6, no water 1, no suction 1", "seal?; gasket?"),
    "belt worn": ("no spin 4, slow 2, noise 1, no disc 2", "belt?; drive belt?"),
    "gear stripped": ("no spin 3, noise 3, stuck 2", "gears?; plastic gear"),
    "dirt": ("crackles 3, intermittent 1, noise 1, no keys 2, no disc 3, stuck 1, too hot 1", "full of dust; dirty contacts?; cleaned it"),
    "battery worn out": ("runs down 5, no charge 3, dead 2", "battery?; new battery tried; original battery"),
    "charging port damaged": ("no charge 5, intermittent 2, runs down 1", "charging socket loose; port?"),
    "circuit board failed": ("dead 3, intermittent 2, no keys 1, stuck on 1, no picture 1, cuts out 1", "pcb?; electronics?; control board?"),
    "power supply failed": ("dead 5, cuts out 2, no charge 1, smell 1", "adapter?; psu?; transformer?"),
    "capacitor failed": ("dead 2, hums 3, no picture 1, slow 1, smell 1", "capacitor?"),
    "speaker or audio jack broken": ("no sound 5, crackles 3", "headphone socket?; speaker?"),
    "lens or head dirty": ("no disc 5, crackles 1", "laser?; heads?"),
    "screen broken": ("no picture 5, no keys 2, broken part 1", "dropped; screen?; fell off table"),
    "software": ("slow computer 8, no network 3, no keys 1", "virus?; software?; windows 10; needs reinstall"),
    "storage failed": ("slow computer 4, dead 1, noise 1", "hard drive?; disk full"),
    "print head clogged": ("no print 6", "ink?; new cartridges fitted"),
    "user advice": ("no network 2, no stitch 2, slow computer 2, no light 1, no disc 1", "how does it work?; no manual; lost instructions"),
    "out of adjustment": ("no stitch 5, no time 2, no disc 1, too hot 1, not down 1", "timing?; service?"),
    "lubricant dried": ("stuck 3, slow 2, noise 2, no time 3, no stitch 2", "not used for years; from loft; needs oiling"),
    "bulb or LED failed": ("no light 6, dead 1", "new bulb tried; bulb?"),
    "mechanical breakage": ("broken part 6, stuck 2, not down 2, no disc 1", "dropped; snapped; glue?"),
    "seam or zip failed": ("torn 8", "needs sewing; zip?"),
    "thermostat failed": ("too hot 4, no heat 2, stuck on 2, cuts out 1", "thermostat?"),
    "pump failed": ("no water 5, hums 2, leaks 1", "pump?"),
    "antenna or wireless failed": ("no network 4, no sound 1", "aerial?"),
}  # fmt: skip
# kind: category; causes that it has, and how often; what people say of it
KINDS = {
    "kettle": ("Kettle", "thermal fuse open 3, switch worn 4, seal perished 3, heating element failed 2, fuse blown 1"),
    "toaster": ("Toaster", "switch worn 2, heating element failed 4, mechanical breakage 4, circuit board failed 2, dirt 2, power cable broken 1"),
    "vacuum cleaner": ("Vacuum", "blockage 6, power cable broken 4, brushes worn 3, motor burnt out 3, thermal fuse open 2, belt worn 2, bearing worn 2, switch worn 1"),
    "cordless vacuum": ("Vacuum", "battery worn out 6, blockage 4, switch worn 1, charging port damaged 1, motor burnt out 1"),
    "lamp": ("Lamp", "switch worn 4, bulb or LED failed 4, power cable broken 5, fuse blown 2, power supply failed 2, mechanical breakage 1"),
    "sewing machine": ("Sewing machine", "out of adjustment 6, lubricant dried 5, user advice 3, belt worn 2, capacitor failed 2, switch worn 1, motor burnt out 1"),
    "radio": ("Portable radio", "dirt 3, power supply failed 3, antenna or wireless failed 2, speaker or audio jack broken 2, battery worn out 2, circuit board failed 2"),
    "cd player": ("Hi-Fi separates", "lens or head dirty 6, belt worn 3, mechanical breakage 2, power supply failed 2, circuit board failed 1"),
    "record player": ("Hi-Fi separates", "belt worn 5, speaker or audio jack broken 3, lubricant dried 2, out of adjustment 2, power supply failed 1"),
    "amplifier": ("Hi-Fi integrated", "dirt 4, capacitor failed 3, fuse blown 2, speaker or audio jack broken 2, power supply failed 2"),
    "speaker": ("Hi-Fi integrated", "speaker or audio jack broken 4, battery worn out 3, charging port damaged 2, software 1, power supply failed 2"),
    "headphones": ("Headphones", "power cable broken 5, speaker or audio jack broken 4, battery worn out 2, mechanical breakage 3"),
    "laptop": ("Laptop", "software 7, battery worn out 4, charging port damaged 4, storage failed 4, screen broken 3, dirt 2, power supply failed 2, mechanical breakage 2"),
    "desktop computer": ("Desktop computer", "software 6, storage failed 4, power supply failed 4, dirt 1, circuit board failed 2"),
    "tablet": ("Tablet", "screen broken 5, battery worn out 4, charging port damaged 3, software 4"),
    "mobile phone": ("Mobile", "screen broken 6, battery worn out 5, charging port damaged 4, software 3, speaker or audio jack broken 1"),
    "printer": ("Printer/scanner", "print head clogged 6, blockage 3, user advice 2, software 3, power supply failed 1, mechanical breakage 1"),
    "television": ("Flat screen", "power supply failed 4, screen broken 3, capacitor failed 3, circuit board failed 2, software 1, speaker or audio jack broken 1"),
    "camera": ("Digital compact camera", "mechanical breakage 4, battery worn out 2, screen broken 2, dirt 2, circuit board failed 2"),
    "coffee machine": ("Coffee maker", "blockage 5, pump failed 4, seal perished 4, thermal fuse open 2, heating element failed 1, fuse blown 1"),
    "food processor": ("Food processor", "switch worn 3, mechanical breakage 4, gear stripped 3, motor burnt out 2, brushes worn 2, bearing worn 1"),
    "blender": ("Small kitchen item", "gear stripped 3, seal perished 3, motor burnt out 3, switch worn 2, bearing worn 2"),
    "bread maker": ("Small kitchen item", "belt worn 3, heating element failed 2, seal perished 1, bearing worn 3, thermostat failed 1"),
    "microwave oven": ("Small kitchen item", "fuse blown 4, switch worn 3, circuit board failed 2, mechanical breakage 1"),
    "iron": ("Iron", "thermal fuse open 3, power cable broken 4, blockage 3, thermostat failed 3, seal perished 2"),
    "hair dryer": ("Hair & beauty item", "power cable broken 5, thermal fuse open 3, dirt 2, motor burnt out 1, switch worn 1"),
    "hair straightener": ("Hair & beauty item", "power cable broken 5, thermal fuse open 3, mechanical breakage 2, heating element failed 1"),
    "shaver": ("Hair & beauty item", "battery worn out 5, charging port damaged 1, dirt 2, switch worn 1"),
    "electric toothbrush": ("Hair & beauty item", "battery worn out 5, seal perished 2, bearing worn 2, switch worn 2"),
    "fan heater": ("Large home electrical", "thermal fuse open 4, fuse blown 2, bearing worn 3, thermostat failed 2, switch worn 1"),
    "fan": ("Fan", "bearing worn 4, lubricant dried 3, switch worn 2, capacitor failed 3, mechanical breakage 2, power cable broken 1"),
    "dehumidifier": ("Aircon/dehumidifier", "blockage 2, bearing worn 2, circuit board failed 3, seal perished 2, fuse blown 2"),
    "power drill": ("Power tool", "brushes worn 4, switch worn 4, power cable broken 3, gear stripped 2, battery worn out 3"),
    "strimmer": ("Power tool", "power cable broken 4, mechanical breakage 3, motor burnt out 2, switch worn 2, brushes worn 1"),
    "clock": ("Watch/clock", "lubricant dried 5, out of adjustment 3, mechanical breakage 2, battery worn out 3"),
    "toy": ("Toy", "battery worn out 2, power cable broken 3, gear stripped 4, mechanical breakage 4, dirt 1"),
    "games console": ("Handheld entertainment device", "lens or head dirty 3, dirt 3, software 1, power supply failed 2, charging port damaged 3, mechanical breakage 2"),
    "keyboard instrument": ("Musical instrument", "dirt 4, power supply failed 4, circuit board failed 2, speaker or audio jack broken 3"),
    "jacket": ("Misc", "seam or zip failed 9"),
    "rucksack": ("Misc", "seam or zip failed 8, mechanical breakage 2"),
    "paper shredder": ("Paper shredder", "blockage 4, gear stripped 3, motor burnt out 2, switch worn 2"),
}  # fmt: skip
# What people say of a thing without naming it.
ABOUT = {
    "kettle": "water does not boil; lid; base; boils; limescale; element in bottom",
    "toaster": "bread; two slices only; toasts one side; toast; crumbs; slots",
    "vacuum cleaner": "hoover; carpet; cylinder; hose; cable rewind; bag full; upright",
    "cordless vacuum": "handheld; hoover; stick; battery pack; floor head; trigger",
    "lamp": "bulb; shade; desk light; base; touch; halogen; arm",
    "sewing machine": "foot pedal; needle; bobbin; handwheel; stitch; presser foot",
    "radio": "DAB; FM only; stations; dial; alarm; aerial; tuner",
    "cd player": "CDs; tray; disc; tracks; laser; drawer",
    "record player": "turntable; stylus; arm; records; platter; vinyl",
    "amplifier": "hi-fi; left channel; input; speakers connected; volume knob; receiver",
    "speaker": "bluetooth; portable; boombox; subwoofer; bass; paired",
    "headphones": "one ear; jack; cable to left ear; headband; earpiece",
    "laptop": "windows; hinge; charger; keyboard; notebook; boots; lid; hard drive",
    "desktop computer": "PC; tower; monitor; windows; graphics; boots; hard drive",
    "tablet": "touch screen; iPad like; screen; app; charge",
    "mobile phone": "phone; smartphone; screen; sim; dropped in water; android",
    "printer": "ink; cartridges; paper; scanner; inkjet; pages; wireless printing",
    "television": "TV; remote; HDMI; standby light; backlight; channels; picture",
    "camera": "lens; shutter; flash; zoom; memory card; photos",
    "coffee machine": "espresso; coffee; water tank; pods; steam wand; milk; brew",
    "food processor": "bowl; lid; blade; dough; safety interlock; mixer; attachment",
    "blender": "jug; smoothie; blades; drive coupling; soup; hand blender",
    "bread maker": "paddle; loaf; dough; pan; error code",
    "microwave oven": "turntable; door; plate; light on; magnetron; keypad",
    "iron": "steam; sole plate; ironing; water tank; steam generator",
    "hair dryer": "hair; cold air; drying; nozzle; hot",
    "hair straightener": "plates; hair; tongs; swivel cable; GHD type",
    "shaver": "beard; blades; razor; foil; trimmer; hair clipper",
    "electric toothbrush": "brush; charging stand; bathroom; head; teeth",
    "fan heater": "room; blows cold; heater; tip switch; radiator; oil filled",
    "fan": "desk fan; oscillates; pedestal; blades; speed; tower",
    "dehumidifier": "water bucket; damp; compressor; cellar; tank full light",
    "power drill": "chuck; hammer action; trigger; drilling; cordless; bit",
    "strimmer": "garden; grass; line; hedge; lawn mower; cutting",
    "clock": "pendulum; hands; chime; mantel; alarm; mainspring; battery movement",
    "toy": "remote control car; doll; train; child; sings; wheels",
    "games console": "controller; games; disc; joystick; HDMI; buttons",
    "keyboard instrument": "piano; keys; notes; organ; midi; pedal",
    "jacket": "sleeve; coat; pocket; zip; lining; trousers",
    "rucksack": "bag; strap; zip; buckle; handle; suitcase",
    "paper shredder": "paper; cutters; bin; jammed; shreds",
}  # fmt: skip
MAKES = "Ferrowick Aldrun Bexmoor Calvane Dorrin Estovar Fennick Gorlan Hasp Ivarre Jornell Kestle Lowmark Nimber Ostrey".split()
STORY = "bought 3 years ago; second hand; belonged to my grandmother; out of warranty; was fine last week; used daily; found in a skip; got it from a friend; owner opened it already; tried another socket; very old but good quality; about 10 yrs old; wife's favourite; customer wants it for Christmas; first time at the café; would like it safety checked; not used since moving; was left in the garage; manufacturer could not help; sentimental value; needs PAT test; came apart when I tried; model unknown; 1970s; has been repaired before; seen by another repairer in March; child pulled it off the table; spare parts are hard to find; please look inside; I think it is something simple; worked on and off for months; no instructions".split("; ")  # fmt: skip


def _weighted(text: str) -> tuple[list[str], list[int]]:
    pairs = [part.strip().rsplit(" ", 1) for part in text.split(",")]
    return [name for name, _ in pairs], [int(weight) for _, weight in pairs]


def note_of(n: int, chance: random.Random) -> tuple[Record, tuple[str, str], str]:
    """A record, its kind and cause, and the text of its owner."""
    kind = chance.choices(list(KINDS), [1 / (3 + place % 11) for place in range(len(KINDS))])[0]
    category, weights = KINDS[kind]
    cause = chance.choices(*_weighted(weights))[0]
    shows, guesses = CAUSES[cause]
    symptom = (
        chance.choice(sorted(SAID)) if chance.random() < 1 / 14 else chance.choices(*_weighted(shows))[0]
    )
    said = [chance.choice(SAID[symptom].split("; "))]
    if chance.random() < 0.25:
        said.append(chance.choice(SAID[chance.choices(*_weighted(shows))[0]].split("; ")))
    if chance.random() < 0.22:
        of = cause if chance.random() < 0.6 else chance.choice(_weighted(weights)[0])
        said.append(chance.choice(CAUSES.get(of, CAUSES[cause])[1].split("; ")))
    if chance.random() < 0.55:
        said.insert(chance.randrange(2), chance.choice(ABOUT[kind].split("; ")))
    make = chance.choice(MAKES)
    for _ in range(chance.choices((0, 1, 2, 4), (4, 3, 2, 1))[0]):
        said.append(chance.choice(STORY))
    if chance.random() < 0.2:
        said.insert(
            0, f"{make} {kind}" if chance.random() < 0.6 else f"{make} {chance.choice('ABCX')}{n % 700}"
        )
    if chance.random() < 0.3:
        chance.shuffle(said)
    text = chance.choice((". ", ", ", " - ", " and ", "; ")).join(said)
    text = text[0].upper() + text[1:] if chance.random() < 0.7 else text
    for _ in range(2):
        if chance.random() < 0.1:
            text = misspell(text, chance)
    part, _, failed = cause.rpartition(" ")
    record = Record(
        f"note-{n:05}", f"{make} {kind}", f"20{15 + n % 10}-{1 + n % 12:02}-11", kind, category, make,
        f"{chance.choice('ABCX')}{n % 700}", (text,), outcome=chance.choice(("fixed", "repairable", "end of life")),
        causes=(Cause("", cause, "", f"check of {part or failed}"),),
    )  # fmt: skip
    return record, (kind, cause), text


def noisy(size: int, seed: int = 3) -> list[tuple[Record, tuple[str, str], str]]:
    chance = random.Random(seed)
    return [note_of(n, chance) for n in range(size)]


Asked = list[tuple[Record, tuple[str, str], str]]


def told(
    find: Callable[[str, str], list[str]], asked: Asked, key_of: dict[str, tuple[str, str]], given: bool
) -> str:
    """hit@1, hit@5, MRR@10 and vote, as text."""
    first = five = rank = vote = 0.0
    for record, key, text in asked:
        got = [key_of[slug] for slug in find(text, record.device_kind if given else "")][:10]
        first += got[:1] == [key]
        five += key in got[:5]
        rank += 1 / (1 + got.index(key)) if key in got else 0
        votes: defaultdict[str, float] = defaultdict(float)
        for place, (_, cause) in enumerate(got, 1):
            votes[cause] += 1 / place
        vote += bool(votes) and max(votes, key=votes.__getitem__) == key[1]
    n = len(asked)
    return f"{first / n:.3f} / {five / n:.3f} / {rank / n:.3f} / {vote / n:.3f}"


def main() -> None:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--notes", type=int, default=2100)
    parser.add_argument("--queries", type=int, default=400)
    parser.add_argument("--seed", type=int, default=3)
    chosen = parser.parse_args()
    every = noisy(chosen.notes + chosen.queries, chosen.seed)
    library, asked = every[: chosen.notes], every[chosen.notes :]
    key_of = {record.slug: key for record, key, _ in library}
    start = time.perf_counter()
    index = build_index([record for record, _, _ in library])
    print(
        f"{chosen.notes} notes, {len(set(key_of.values()))} pairs of kind and cause; index {time.perf_counter() - start:.1f} s"
        f"; sureness {index.core['temperatures']}"
    )
    fts = Fts([record for record, _, _ in library])
    for given in (False, True):
        print("kind given:" if given else "nothing given:", "hit@1 / hit@5 / MRR / vote")
        print(
            "  ours ",
            told(
                lambda text, kind: [hit.slug for hit in index.search(text, kind).results],
                asked,
                key_of,
                given,
            ),
        )
        print("  FTS5 ", told(fts.search, asked, key_of, given))
        shares = []
        for record, key, text in asked:
            found = index.search(text, record.device_kind if given else "")
            if found.causes:
                shares.append((found.causes[0].share, found.causes[0].cause == key[1]))
        n = len(shares) or 1
        right, says = sum(ok for _, ok in shares) / n, sum(share for share, _ in shares) / n
        print(
            f"  panel: right {right:.3f}, says {says:.3f}, calibration error {error_of(shares):.3f} ({n} asked)",
            flush=True,
        )


if __name__ == "__main__":
    main()
