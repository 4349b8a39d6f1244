"""Carson's rule against published worked values."""

import pytest

from meetapp.spectrum.bandwidth import carson_mhz, rounded_up_width_mhz
from meetapp.spectrum.channels import BadProblem


# Bn = 2M + 2DK (ITU-R SM.1138, Radio Regulations Appendix 1; 47 CFR 2.202). Units cancel, so the kHz cases of sound
# radio serve as well; a K other than 1 goes with the deviation.
@pytest.mark.parametrize(
    ("modulating", "deviation", "width"),
    [
        pytest.param(3, 5, 16, id="FM telephony 16K0F3E (Canada TRC-43, kHz)"),
        pytest.param(3, 2.5, 11, id="FM telephony 11K0F3E (Canada TRC-43, kHz)"),
        pytest.param(3, 15, 36, id="36F3 of the Radio Regulations 1947, App. 5 (kHz)"),
        pytest.param(22.725, 85 * 1.2, 249.45, id="telegraphy 249HF1B, K 1.2 (a public test quoting SM.1138, Hz)"),
        pytest.param(25, 35 * 1.2, 134, id="telegraphy 134HJ2BCN, K 1.2 (Canada TRC-43, section 8, Hz)"),
        pytest.param(15, 75, 180, id="mono FM sound 180KF3E (M and D from memory, kHz)"),
        pytest.param(53, 75, 256, id="stereo FM sound 256KF8E (M and D from memory, kHz)"),
        pytest.param(75, 75, 300, id="stereo and subsidiary 300KF8E (M from memory, kHz)"),
        pytest.param(4.2, 4, 16.4, id="video of 4.2 MHz (computed)"),
        pytest.param(5, 4, 18, id="video of 5 MHz (computed)"),
        pytest.param(6, 4, 20, id="video of 6 MHz (computed)"),
        pytest.param(6.5, 4, 21, id="sound subcarrier of 6.5 MHz (computed)"),
    ],
)
def test_carson_gives_the_published_width(modulating: float, deviation: float, width: float) -> None:
    assert carson_mhz(modulating, deviation) == pytest.approx(width, abs=1e-9)


def test_the_default_is_the_ordinary_video_signal() -> None:
    assert carson_mhz() == 18


@pytest.mark.parametrize(("modulating", "deviation"), [(0, 4), (5, 0), (-5, 4), (float("nan"), 4), (5, float("inf"))])
def test_carson_refuses_numbers_that_are_not_above_zero(modulating: float, deviation: float) -> None:
    with pytest.raises(BadProblem):
        carson_mhz(modulating, deviation)


@pytest.mark.parametrize(("width", "kept"), [(16.4, 16.5), (16.5, 16.5), (18, 18), (18.01, 18.5), (20.6, 21)])
def test_a_width_is_rounded_up_to_half_a_mhz(width: float, kept: float) -> None:
    assert rounded_up_width_mhz(width) == kept
