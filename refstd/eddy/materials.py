"""Turn one measure of conductivity into the other, and bring an aluminium reading to 20 °C."""

from refstd.base.domain import Numbers, finite, positive, same_shape

MS_PER_M_AT_100_PERCENT = 58.0  # ASTM E1004 scope 1.4: 100 %IACS is 0.58 × 10^8 S/m at 20 °C

# Temperature coefficient of aluminium at 20 °C, per K and per %IACS: α20 = 6.6 × 10^-5 × %IACS, which gives the handbook's
# five values from 48 to 61 %IACS (4.03 × 10^-3 at 61). The slope of resistivity is then one constant for all of them.
_ALUMINIUM_PER_KELVIN = 6.6e-5
_ALUMINIUM_MS_PER_M = (8.0, 38.5)  # about 14 to 66 %IACS: from the leanest alloys to the purest metal
_CELSIUS = (-50.0, 100.0)


def ms_per_m(percent_iacs: Numbers) -> Numbers:
    """Return MS/m for %IACS, both above 0. ASTM E1004 scope 1.4."""
    result: Numbers = same_shape(positive("conductivity in %IACS", percent_iacs) * MS_PER_M_AT_100_PERCENT / 100)
    return result


def percent_iacs(ms_per_m: Numbers) -> Numbers:
    """Return %IACS for MS/m, both above 0. ASTM E1004 scope 1.4."""
    result: Numbers = same_shape(positive("conductivity in MS/m", ms_per_m) * 100 / MS_PER_M_AT_100_PERCENT)
    return result


def conductivity_at_20_c(ms_per_m: Numbers, temperature_c: Numbers) -> Numbers:
    """Return the conductivity at 20 °C, MS/m, of an aluminium alloy measured as `ms_per_m` at `temperature_c`.

    σ20 = σT·(1 + α20·(T − 20)) with α20 tied to σ20 itself; the pure metal's 0.4 % per K would correct a 32 %IACS alloy
    twice too much. Aluminium and its alloys only (σ20 8 to 38.5 MS/m), −50 to 100 °C; ValueError outside.
    """
    measured = positive("conductivity in MS/m", ms_per_m)
    temperature = finite("temperature", temperature_c, "Give °C.")
    if not ((temperature >= _CELSIUS[0]) & (temperature <= _CELSIUS[1])).all():
        raise ValueError(f"The coefficient holds from {_CELSIUS[0]:g} to {_CELSIUS[1]:g} °C. Measure nearer to 20 °C.")
    per_ms_per_m = _ALUMINIUM_PER_KELVIN * 100 / MS_PER_M_AT_100_PERCENT
    at_20 = measured / (1 - per_ms_per_m * measured * (temperature - 20))
    low, high = _ALUMINIUM_MS_PER_M
    if not ((at_20 >= low) & (at_20 <= high)).all():
        raise ValueError(
            f"Aluminium alloys have {low:g} to {high:g} MS/m at 20 °C, and the coefficient is known for them only. "
            "Measure other metals at 20 °C, or use their own coefficient."
        )
    result: Numbers = same_shape(at_20)
    return result
