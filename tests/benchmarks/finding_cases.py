"""What owners wrote on the slip, and what it turned out to be: invented, for tests/benchmarks/finding_small.py.

None of it was taken from anybody. It was written without symptoms.yaml at hand, in the words of people who do not know
what is wrong; symptoms.yaml was widened afterwards, by the same hand, so that figures from before and after that
flatter what came after. Each kind of device: category, then for each cause (part, failed, found by) the
slips, one a line, some of them German. No slip is a template of another, so that a library with one left out says
something of how it serves a stranger, within what one hand invents.
"""

from __future__ import annotations

Cause = tuple[str, str, str]
CASES: dict[str, tuple[str, dict[Cause, str]]] = {
    "kettle": ("kitchen", {
        ("thermal fuse", "open", "ohmmeter across the fuse"): """
            blue light comes on but the water never boils
            was boiled without water by my son, since then nothing at all
            switch clicks down, light glows, water stays like from the tap
            dead after it ran dry
            leuchtet zwar, aber Wasser bleibt kalt
            boiled dry last Sunday and has not said a word since""",
        ("switch", "contacts burnt", "voltage across the closed switch"): """
            only works if I hold the lever down with a finger
            lever goes down but sometimes it just ignores me
            have to press it five times before it starts
            small crackle from the handle when pressing the lever, then works, then not
            muss den Hebel festhalten, sonst geht er aus
            handle gets hot near the lever and it smells of hot plastic""",
        ("seal", "perished", "dye in the water"): """
            puddle on the worktop every morning
            water comes out underneath
            drips from the window where one sees the level
            base station gets wet when it is full
            tropft am Sichtfenster""",
        ("steam switch", "stuck", "watching it boil"): """
            keeps on boiling for ever, I have to pull it off the base
            never switches itself off any more
            boils and boils till the kitchen is full of steam
            kocht ohne Ende, schaltet nicht ab"""}),
    "toaster": ("kitchen", {
        ("electromagnet", "no current", "voltage at the coil"): """
            slice pops straight up again
            lever does not catch at the bottom
            I have to stand there and hold the handle down
            bread goes down, comes back up at once, cold
            Hebel rastet nicht ein
            will not stay down""",
        ("heating wire", "open", "ohmmeter across each side"): """
            toasts one face only
            left slot stays white
            one side of the bread is brown, the other not
            right-hand side is cold
            nur eine Seite wird braun""",
        ("crumb", "across the element", "shaking it out"): """
            there was a flash inside and the power in the flat went
            takes out the electrics when I push the lever
            lots of smoke and a bang with the first slice
            beim Runterdrücken fliegt die Sicherung""",
        ("timer capacitor", "low", "replacing it"): """
            burns everything on setting one
            no matter what number I choose it comes out charcoal
            dial has no effect any more, always the same time
            takes twice as long as it used to"""}),
    "vacuum cleaner": ("household", {
        ("hose", "blocked", "dropping a ball through the hose"): """
            sounds higher than it did and leaves the dirt on the carpet
            picks up nothing, bag is new
            no pull at the floor head but plenty at the machine
            howls and then goes quiet after some minutes
            saugt nicht mehr, Beutel ist leer""",
        ("carbon brushes", "worn", "looking at them"): """
            sparks visible through the vents at the back and a smell like a tram
            stutters, then runs, then stops; a knock on the case helps
            blue fire inside when it spins up
            stops and comes back if I tap it
            riecht nach Straßenbahn und stottert""",
        ("mains cable", "broken at the plug", "ohmmeter while bending the cable"): """
            works if the wire is bent in a certain way
            cuts out as soon as I move away from the socket
            plays dead unless I hold the flex near the plug
            nur wenn man am Kabel wackelt
            goes off when I pull it round the corner""",
        ("bearing", "dry", "turning the fan by hand"): """
            screams like a jet
            awful shriek when running up, quieter once warm
            makes a whistling howl
            kreischt beim Anlaufen""",
        ("cable winder", "spring broken", "opening the winder"): """
            the flex does not roll in any more
            cord hangs out, pedal does nothing
            Kabel zieht sich nicht mehr ein"""}),
    "hair dryer": ("personal care", {
        ("fan", "blocked with hair", "looking in"): """
            goes off after two minutes and works again when it has cooled
            stinks of singed hair and glows red inside
            gets so hot that it switches off
            nach kurzer Zeit aus, später wieder an
            very little wind and far too hot""",
        ("mains cable", "broken at the grommet", "ohmmeter while bending the cable"): """
            works only with the wire held up
            stops when I turn my hand
            where the cord enters the handle it is floppy and it cuts in and out
            sparks where the flex goes in
            Wackler am Griff""",
        ("heating wire", "open", "ohmmeter"): """
            blows but cold
            wind yes, warmth no
            like a fan, hair stays wet
            bläst nur kalt"""}),
    "coffee machine": ("kitchen", {
        ("pipe", "blocked with scale", "blowing through the pipe"): """
            only a few drops in the cup
            takes ten minutes for half a cup
            gurgles a lot, hardly any coffee
            steam at the top but nothing runs through
            es kommt nur ein dünnes Rinnsal""",
        ("pump", "stuck", "voltage at the pump while it is silent"): """
            hums for a while but nothing arrives in the cup
            buzzes, no water drawn from the tank
            loud growl and no coffee
            tank stays full, one hears it try
            brummt nur, zieht kein Wasser""",
        ("o-ring", "perished", "paper towel below"): """
            lake under the machine
            water runs out at the side when brewing
            drip tray overflows although nobody spilt anything
            läuft unten aus""",
        ("flow meter", "stuck", "reading its pulses"): """
            all three lamps blink and it refuses
            blinks after the first sip of water and stops
            says fill the tank though it is full
            zeigt Wasser nachfüllen, obwohl voll"""}),
    "desk lamp": ("lighting", {
        ("switch", "worn", "bridging the switch"): """
            must flick it many times
            the button has gone soft and sometimes nothing comes on
            stays dark unless the rocker is pushed to one side
            Schalter geht nur noch ab und zu""",
        ("driver", "capacitor low", "ripple with a scope"): """
            trembles like a candle
            strobes when I look past it
            shivers and gives me a headache
            zittert und wird dunkler
            goes dim and bright by itself""",
        ("cable", "broken in the joint of the arm", "ohmmeter while bending the arm"): """
            goes out when the arm is moved
            bright at one angle, black at another
            only burns with the head turned left
            geht aus, wenn man den Arm bewegt"""}),
    "radio": ("audio", {
        ("volume control", "dirty", "turning it while listening"): """
            scratches when turning louder
            rustle and crackle whenever I touch the knob
            one spot on the dial where it is silent
            jumps from whisper to roar
            kratzt beim Lauterstellen""",
        ("battery contact", "corroded", "looking"): """
            fresh cells in, nothing
            green fur in the compartment
            runs on the wall plug but not without it
            old batteries ran out in it
            mit Netzteil ja, mit Batterien nein""",
        ("electrolytic", "low", "capacitance meter"): """
            deep drone under the news
            hum that does not change with the volume
            mumbles at the bottom and the voices are thin
            brummt tief, auch wenn leise gestellt""",
        ("aerial", "broken off", "looking"): """
            only hiss, all stations gone
            rod snapped, gets the local one only
            picks up nothing but noise
            Antenne abgeknickt, nur Rauschen"""}),
    "amplifier": ("audio", {
        ("relay", "contacts dirty", "bridging the contacts"): """
            left goes missing until I turn it up loud for a second
            one side comes and goes
            right speaker fades, back after a knock
            links fällt aus, nach lautem Ton wieder da
            quiet parts lose a channel""",
        ("output transistor", "short", "diode test"): """
            blows its fuse the moment it is switched on
            loud bang, now the inner fuse goes every time
            a puff of smoke during a party
            stays in protection, red lamp
            Feinsicherung sofort wieder durch""",
        ("electrolytic", "low", "ripple with a scope"): """
            grumbles in both boxes with no music on
            mains buzz from both loudspeakers
            brummt in beiden Boxen ohne Musik""",
        ("solder joint", "cracked", "pressing with a stick"): """
            cuts out when the lid is touched
            works cold, gone when warm
            a slap on top brings it back
            Klopfen hilft"""}),
    "cordless drill": ("tools", {
        ("cell", "worn out", "voltage under load"): """
            five screws and it is empty
            charged all night, lasts a minute
            slows down at once under load
            nach drei Schrauben leer
            lamp on the charger goes green after seconds, yet no force""",
        ("trigger switch", "worn", "bridging the switch"): """
            pull and nothing, pull harder and it leaps
            only full throttle or none
            does not react to my finger
            starts by itself when shaken
            dreht nur mit Vollgas""",
        ("gear", "teeth broken", "opening the gearbox"): """
            motor races, chuck stands still
            grinds and slips
            clatters like a box of nails
            Motor läuft, Futter nicht"""}),
    "sewing machine": ("household", {
        ("grease", "hardened", "turning it by hand"): """
            handwheel can hardly be moved
            stiff as a board after ten years in the loft
            growls and turns very slowly
            Handrad schwer zu drehen
            belt slips because all is gummed up""",
        ("hook timing", "out", "watching hook and needle"): """
            leaves out every third stitch
            thread is not caught below
            needle hits the plate since it hit a pin
            näht, aber Unterfaden kommt nicht hoch
            loops and gaps in the seam""",
        ("foot pedal", "capacitor short", "ohmmeter"): """
            races off as soon as plugged in
            sews without my foot
            runs by itself at full tilt
            näht von allein los
            pedal smoked and smelt of fish"""}),
    "stick blender": ("kitchen", {
        ("coupling", "worn round", "turning the knife by hand"): """
            whirrs but the knife stands
            top half runs, bottom half does not
            plastic dust where foot and handle meet
            Motor dreht, Messer steht""",
        ("carbon brushes", "worn", "looking at them"): """
            fireworks in the air slots
            runs in fits and starts, smells electric
            feuert innen und riecht""",
        ("bearing", "seized", "turning it by hand"): """
            hums and gets hot, shaft cannot be turned
            stuck fast after a week in the cupboard
            one cannot twist the knife
            sitzt fest und brummt"""}),
    "fan heater": ("household", {
        ("thermal fuse", "open", "ohmmeter across the fuse"): """
            air comes but it is cold
            stood against a curtain, now it only blows
            blows like winter
            pustet nur noch kalt
            totally lifeless since it fell over under a towel""",
        ("bearing", "dry", "turning the fan by hand"): """
            rattles at the start, then whines
            chirps like a cricket
            squeals for the first minute
            quietscht beim Start""",
        ("thermostat", "contacts burnt", "bridging it"): """
            does not go off though the room is a sauna
            dial does nothing, heats on and on
            heizt durch, Regler egal"""}),
    "laptop": ("computer", {
        ("charging socket", "cracked joint", "wiggling the plug"): """
            charges only when I lean something on the plug
            battery symbol flickers between charging and not
            the pin in the side is loose
            lädt nur in einem bestimmten Winkel
            adapter fine on another one, here nothing goes in""",
        ("battery", "worn out", "reading its counter"): """
            off the moment the mains is pulled
            lasts six minutes
            shows 60 percent, then black
            touchpad bulges upwards
            Akku nach zehn Minuten leer""",
        ("fan", "blocked with dust", "looking"): """
            roars and turns itself off during videos
            burns my knees
            slow as soon as it is warm
            wird heiß und geht beim Spielen aus""",
        ("disk", "worn out", "reading its log"): """
            takes a quarter of an hour to start
            clicks inside and then a blue page with white letters
            stays at the logo with turning dots
            files vanish and it freezes
            bleibt beim Hochfahren hängen"""}),
    "television": ("video", {
        ("backlight strip", "open", "torch at the screen"): """
            one hears the programme but sees nothing
            black, yet with a lamp held to it there are faces
            sound all right, dark glass
            Ton ja, Bild nein
            bottom half darker, then all dark""",
        ("electrolytic", "bulged", "looking"): """
            little red lamp blinks and nothing more
            needs twenty tries in the morning
            clicks on and off and on and off
            Standby blinkt, startet nicht
            comes on after half an hour of waiting""",
        ("remote sensor", "broken joint", "camera of a phone"): """
            does not listen to the remote
            buttons on the set work, the handset does not, new batteries
            Fernbedienung wird ignoriert"""}),
    "printer": ("computer", {
        ("pickup roller", "glazed", "looking"): """
            takes no sheet, says empty
            grabs three pages at once or none
            paper goes in crooked
            zieht kein Blatt ein
            claims the tray is empty""",
        ("print head", "dried up", "nozzle pattern"): """
            stripes across all photos
            black is missing
            white gaps in every line
            blass und streifig
            was idle all summer, now pages come out blank""",
        ("wireless board", "not answering", "reading its status page"): """
            my computer does not see it any more
            new router, since then offline
            vanished from the network
            WLAN findet ihn nicht"""}),
    "iron": ("household", {
        ("thermal fuse", "open", "ohmmeter across the fuse"): """
            sole remains cold, lamp off
            was forgotten face down, now nothing
            does not get warm any more
            Sohle bleibt kalt""",
        ("steam holes", "blocked with scale", "looking"): """
            white flakes on the shirt and no puff
            spits brown water
            no vapour
            kein Dampf, spuckt Kalk""",
        ("mains cable", "broken at the grommet", "ohmmeter while bending the cable"): """
            lamp goes on and off as I move
            heats only when the flex lies to the left
            frayed where it bends, gave a crack and a flash
            Kabel am Knick durchgescheuert"""}),
    "phone": ("computer", {
        ("screen", "cracked", "looking"): """
            spider web after the pavement
            fell, lines across and no touch in the upper third
            glass splintered
            Glas gesprungen nach Sturz""",
        ("battery", "worn out", "reading its counter"): """
            empty by noon
            dies at thirty percent in the cold
            back cover lifts
            hält keinen halben Tag""",
        ("charging socket", "dirty", "looking in with a lamp"): """
            cable falls out, no lightning sign
            charges only on the wireless pad
            plug does not go in all the way
            Stecker hält nicht, Fussel drin"""}),
    "fairy lights": ("lighting", {
        ("lamp holder", "corroded", "bridging each lamp"): """
            half of the string is dark
            from the tenth bulb on nothing
            last part comes and goes when touched
            ab der Mitte dunkel""",
        ("adapter", "no output", "voltage at its plug"): """
            all off, the plug-in block is cold
            not one of them glows this year
            Netzteil tot, alles dunkel"""}),
}  # fmt: skip


def slips() -> list[tuple[str, str, Cause, str]]:
    """(kind, category, cause, what the owner wrote) of every slip."""
    return [
        (kind, category, cause, line.strip())
        for kind, (category, causes) in CASES.items()
        for cause, lines in causes.items()
        for line in lines.strip().splitlines()
    ]
