"""How strong products of the third order are, from an intercept point: the arithmetic of one weak cubic curve.

Every signal that grows by 1 dB lets a product grow by as many dB as the signal counts in it: three for all alike.
Method: ITU-R SM.1134-1, annex 1, section 3.2 (calculation by intercept points).
"""

from math import log10

THREE_SIGNAL_EXTRA_DB = 20 * log10(2)
"""6.02 dB: the cube of three signals has the term a + b - c twice as large as that of two has 2a - b."""


def two_signal_product_dbm(doubled_dbm: float, single_dbm: float, intercept_dbm: float) -> float:
    """The level of 2a - b, as if it came in at the antenna: 2 A + B - 2 IIP3.

    Units: dBm. For equal signals 3 P - 2 IIP3, as application notes on receiver intercept points give it.

    >>> two_signal_product_dbm(-30, -30, -10), two_signal_product_dbm(-30, -40, -10)
    (-70, -80)
    """
    return 2 * doubled_dbm + single_dbm - 2 * intercept_dbm


def three_signal_product_dbm(a_dbm: float, b_dbm: float, c_dbm: float, intercept_dbm: float) -> float:
    """The level of a + b - c, as if it came in at the antenna: A + B + C - 2 IIP3 + 6.02 dB.

    Units: dBm. Triple beats lie 6 dB above the products of two signals (trade-journal articles; 20 log 2).

    >>> round(three_signal_product_dbm(-30, -30, -30, -10), 2)
    -63.98
    """
    return a_dbm + b_dbm + c_dbm - 2 * intercept_dbm + THREE_SIGNAL_EXTRA_DB


def transmitter_product_dbm(incoming_dbm: float, conversion_loss_db: float) -> float:
    """The level of 2a - b that transmitter a makes of what comes in at its antenna from transmitter b.

    Units: dBm, dB. The product leaves by the same antenna, weaker than the incoming signal by the conversion loss.

    >>> transmitter_product_dbm(-30, 10)
    -40
    """
    return incoming_dbm - conversion_loss_db
