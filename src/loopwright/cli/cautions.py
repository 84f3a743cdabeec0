"""What can hurt someone at the work that is proposed."""

GRINDING = (
    "Caution, grinding: check the wheel and keep its guard on, wear eye protection, make sure that the magnet holds "
    "the part (block thin or small ones in), and keep grinding dust out of your lungs and away from slideways and "
    "magnets. Follow local rules and the manual of the machine."
)
LIFTING = (
    "Caution, weight: carry the part by a hoist or a jack before its screws are loosened, and keep fingers out of the "
    "gap."
)
SPINDLE = "Caution, spindle: lock out its motor before an indicator is swung in it by hand."
