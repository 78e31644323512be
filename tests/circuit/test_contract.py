"""The names of kinds, parameters and values are a contract: notes are written against them.

The lists below are the contract itself, written out by hand, not taken from the code.
"""

from __future__ import annotations

import json

import pytest
from commands import run

from generator.circuit import catalogue
from generator.circuit.block import MODES
from generator.circuit.circuit import Mains, build_block

# kind -> (parameters, values). "*" behind a parameter: it may be left out.
CONTRACT = {
    "mains-inlet": (
        "supply* load power_factor* fuse* thermal_fuses* x_capacitor* bleeder* varistor* switch* fuse_resistor* inrush* choke* "
        "y_capacitors* class*",
        "surge_current fuse_resistor_power choke_drop earth_leakage earth_leakage_neutral_open case_voltage_unearthed current peak fuse_margin plug_voltage_1s discharge_time_34v",
    ),
    "transformer-supply": (
        "transformer* filter* secondary_fuse* primary* secondary rectifier* diode_drop* regulation* rated_current* smoothing bleeder* load* decay_to* f*",
        "secondary_current fuse_margin peak no_load_peak high_mains_peak ripple trough mean ripple_frequency reverse_voltage bleeder_power decay_time",
    ),
    "capacitive-dropper": (
        "supply* dropper series discharge* rectifier* output diode_drop* load* smoothing* clamp* f*",
        "reactance current surplus clamp_power surge_current replug_surge series_power plug_voltage_1s discharge_time_34v",
    ),
    "linear-regulator": (
        "input input_high* series* output dropout* load quiescent* theta_ja* ambient* regulator* input_capacitor* "
        "output_capacitor* bleeder*",
        "bleeder_power decay_time series_drop headroom dissipation series_power junction_temperature",
    ),
    "zener-regulator": (
        "supply series zener load*",
        "output series_current zener_current zener_power zener_power_no_load series_power max_load",
    ),
    "feedback-divider": ("reference upper lower bias_current* reference_across*", "output divider_current"),
    "offline-start": (
        "mains* start_resistors capacitor start_voltage start_current*",
        "bus start_current_available start_time resistor_power",
    ),
    "battery-pack": ("cells chemistry capacity load", "nominal full empty energy runtime"),
    "charge-resistor": ("supply battery resistor capacity* chemistry*", "current resistor_power c_rate"),
    "divider": (
        "supply upper lower load* series* capacitor* cut_points*",
        "pin_time_constant output unloaded_output source_resistance current upper_power lower_power",
    ),
    "thermistor-divider": (
        "series* capacitor* supply fixed thermistor thermistor_side* adc_bits* dissipation_constant* sh* cut_points*",
        "pin_time_constant resistance_25 output_25 open_output short_output slope_25 self_heating",
    ),
    "light-divider": (
        "supply fixed sensor sensor_side* series* capacitor* cut_points*",
        "dark_output bright_output pin_time_constant",
    ),
    "sense-resistor": ("shunt gain* limit* load*", "limit_current shunt_power drop amplified"),
    "comparator": (
        "supply reference reference_resistance* input_resistor feedback output_high* output_low* pull_up* input* comparator* signal_resistor* capacitor*",
        "input_time_constant upper_threshold lower_threshold hysteresis",
    ),
    "button-input": (
        "supply pull_up series* capacitor* logic_low* button*",
        "idle_voltage press_current contact_limit release_time_constant",
    ),
    "optocoupler": (
        "input_supply input_resistor forward* ctr* output_supply pull_up saturation* optocoupler* across_led* capacitor*",
        "release_time_constant led_current available_current needed_current saturation_margin",
    ),
    "rc-delay": ("resistor capacitor supply threshold direction*", "time_constant delay cutoff"),
    "timer-555": ("mode* ra rb* capacitor", "high_time low_time frequency duty"),
    "phase-control": (
        "supply* fixed* pot capacitor breakover* breakback*",
        "firing_angle_min firing_angle_max power_share_max power_share_min",
    ),
    "led-indicator": ("supply resistor forward* count*", "current resistor_power led_power"),
    "transistor-switch": (
        "drive base pull_down* transistor vbe* vce_sat* load load_supply flyback* load_inductance* across_switch* across_load*",
        "surge_current load_time_constant switch_off_peak base_current load_current forced_gain overdrive transistor_power base_resistor_power",
    ),
    "mosfet-switch": (
        "drive gate pull_down* transistor load load_supply gate_capacitance* flyback* across_switch* across_load* load_inductance*",
        "surge_current load_time_constant switch_off_peak gate_voltage load_current on_drop dissipation gate_time_constant",
    ),
    "triac-switch": (
        "supply* load triac snubber_resistor* snubber_capacitor* gate_resistor* on_voltage*",
        "load_current triac_power snubber_current snubber_surge",
    ),
    "heater": (
        "power* elements* positions* thermostat* opens* closes* rated_voltage supply* contact* water* mass* heat_capacity* from* to* efficiency*",
        "thermostat_band resistance power_at_supply current heat_time",
    ),
    "dc-motor": (
        "supply winding running_current capacitor*",
        "stall_current running_power stall_power back_emf",
    ),
    "microcontroller": ("designator supply pins decoupling* current*", ""),
    "chain": ("elements between", ""),
    "network": ("parts", ""),
    "mains-rectifier": (
        "supply* rectifier* diode_drop* bulk bleeder* load* inrush* bypass* f*",
        "peak high_mains_peak ripple trough mean ripple_frequency surge_current bleeder_power discharge_time_34v",
    ),
    "flyback-supply": (
        "input input_high* output load turns_ratio* primary_inductance* frequency* efficiency* diode_drop* sense* sense_limit* "
        "auxiliary_ratio* clamp* transistor* diode* capacitor*",
        "reflected boundary_load peak_current duty limit_current max_load output_voltage switch_voltage reverse_voltage auxiliary",
    ),
    "buck-converter": (
        "input output load inductor frequency diode_drop* switch_drop* capacitor* esr* chip* diode*",
        "output_voltage boundary_load duty ripple_current peak_current input_current ripple esr_ripple",
    ),
    "boost-converter": (
        "input output load inductor frequency diode_drop* switch_drop* capacitor* esr* chip* diode*",
        "output_voltage boundary_load duty ripple_current input_current peak_current switch_voltage ripple",
    ),
    "led-string": (
        "leds count supply* resistor* current* driver_min* driver_max* strings*",
        "string_voltage string_current headroom led_power resistor_power",
    ),
    "lithium-charger": (
        "input battery cells* chemistry* resistance* program* program_factor* sense* sense_voltage* precharge_below* dropout* "
        "capacity* over_discharge* over_charge* trip_voltage* fet_resistance* balancer*",
        "full set_current charge_current terminal dissipation c_rate imbalance trip_current balance_current",
    ),
    "universal-motor": (
        "supply* fields armature running_current inductance* brush_drop* f*",
        "resistance stall_current power_factor input_power back_emf copper_power",
    ),
    "induction-motor": (
        "supply* main auxiliary* capacitor* capacitor_voltage* running_current* poles* speed* hot_main* ambient* f*",
        "synchronous_speed slip main_to_auxiliary reactance capacitor_current copper_power temperature_rise",
    ),
    "bldc-motor": (
        "supply duty* winding pole_pairs kv* speed* bridge* shunt* limit* hall_supply* hall_low*",
        "phase_resistance limit_current back_emf stall_current motor_current shunt_voltage shunt_power no_load_speed "
        "hall_frequency hall_mean",
    ),
    "solenoid": (
        "supply* feed* winding inductance* diode* diode_drop* duty* flyback* f*",
        "current extinction_angle mean_current mean_voltage power",
    ),
    "audio-stage": (
        "supply bias_upper bias_lower bias_capacitor* input_resistor* input_capacitor* feedback gain_resistor* gain_capacitor* "
        "output_capacitor* load* saturation* emitter_resistor* emitter_voltage*",
        "mid_rail gain output_dc swing output_power input_cutoff gain_cutoff output_cutoff speaker_dc idle_current",
    ),
    "pulse-sensor": (
        "supply pull_up sensor* low* leakage* capacitor* pulses* speed* frequency* low_share* logic_low* logic_high*",
        "high_level sink_current pulse_frequency shaft_speed mean_level rise_time highest_frequency",
    ),
    "key-ladder": ("supply pull_up keys ladder* keys_side* adc_bits*", "idle_output idle_code least_gap"),
    "high-side-switch": (
        "supply transistor base pull_up* drive_low* drive_high* vbe* vce_sat* load flyback*",
        "drive_current base_current forced_gain overdrive gate_voltage load_current transistor_power output_voltage off_voltage",
    ),
    "series-pass": (
        "input input_high* series zener transistor vbe* load capacitor*",
        "base_current zener_current output_voltage max_load zener_power_no_load dissipation",
    ),
}


# How parts fail, by hand (common practice, no source). Notes, words and cautions are written against these names.
FAILURES = {
    "open": "resistor potentiometer capacitor thermistor photoresistor inductor diode zener led diac transistor mosfet triac "
    "optocoupler switch contact fuse thermal-fuse coil winding element chip cell pnp-or-p-channel-transistor brush "
    "loudspeaker",
    "short": "capacitor thermistor photoresistor diode zener led diac transistor mosfet triac optocoupler switch contact varistor "
    "chip cell pnp-or-p-channel-transistor",
    "high": "resistor potentiometer",
    "low": "capacitor",
    "high resistance": "switch contact",
}


@pytest.mark.parametrize("failed, classes", FAILURES.items())
def test_failures_of_parts(failed: str, classes: str) -> None:
    """What wires and films do is open; what has a junction or a dielectric may short; what wears loses its value."""
    assert {part.replace(" ", "-") for part, modes in MODES.items() if failed in modes} == set(
        classes.split()
    )
    assert set().union(*MODES.values()) == set(FAILURES)


def test_all_kinds_are_there() -> None:
    """The contract's kinds, each with its file; there may be more."""
    assert set(CONTRACT) <= set(catalogue.names())


@pytest.mark.parametrize("name", CONTRACT)
def test_parameters(name: str) -> None:
    """Every parameter of the contract by its name, and whether it may be left out."""
    kind = catalogue.kind(name)
    for word in CONTRACT[name][0].split():
        param = kind.param(word.rstrip("*"))
        assert param is not None, word
        if name != "timer-555":  # rb is needed in one of the modes only
            assert param.required != word.endswith("*"), word


@pytest.mark.parametrize("name", CONTRACT)
def test_values(name: str) -> None:
    """Every value of the contract is defined by its name; no other unit than the contract's is used."""
    kind = catalogue.kind(name)
    defined = {value.name for value in kind.values}
    assert set(CONTRACT[name][1].split()) <= defined
    units = {"V", "A", "ohm", "F", "s", "W", "Hz", "K", "V/K", "°C", "lux", "degree", "rpm", "Wh", "1/h", ""}
    assert {value.unit for value in kind.values} <= units


CUT_VALUES = {
    "divider": ("supply",),
    "thermistor-divider": ("temperature", "resistance", "output", "code"),
    "light-divider": ("illuminance", "resistance", "output"),
    "key-ladder": ("resistance", "output", "code", "contact_limit"),
    "heater": ("resistance", "power", "current"),
}


@pytest.mark.parametrize("name", CUT_VALUES)
def test_cut_values(name: str) -> None:
    """Each cut point adds the contract's values under its own name."""
    kind = catalogue.kind(name)
    assert {value.name for value in kind.cut_values} == set(CUT_VALUES[name])


def test_monostable_pulse() -> None:
    """The timer's other mode has a pulse instead of times."""
    block, _ = build_block(
        "timer-555", {"mode": "monostable", "ra": "R1 10k", "capacitor": "C1 10u"}, Mains()
    )
    assert block is not None and "pulse" in block.values


@pytest.mark.parametrize("name", CONTRACT)
def test_json_of_the_command(name: str) -> None:
    """`values KIND --json` prints nothing but JSON of the contract's shape, numbers without prefixes."""
    parameters = []
    for key, entry in catalogue.kind(name).example.items():
        parameters.append(f"{key}={_flow(entry)}")
    done = run("values", name, *parameters, "--json")
    assert (done.returncode, done.stderr) == (0, "")
    found = json.loads(done.stdout)
    assert found["kind"] == name
    for value in found["values"].values():
        assert set(value) >= {"low", "high", "unit", "formula", "working"}
        assert isinstance(value.get("value", 0.0), (int, float)) or value["value"] == "inf"
    for check in found["checks"]:
        assert set(check) >= {"part", "what", "ok", "margin"} and isinstance(check["ok"], bool)
    for failure in found["failures"]:
        assert set(failure) >= {"part", "failed", "values"}
        for value in failure["values"].values():
            assert set(value) <= {"value", "low", "high"}


def _flow(entry: object) -> str:
    if isinstance(entry, dict):
        return "{" + ", ".join(f"{k}: {_flow(v)}" for k, v in entry.items()) + "}"
    if isinstance(entry, (list, tuple)):
        return "[" + ", ".join(_flow(v) for v in entry) + "]"
    return str(entry)
