"""What a fitting list asks for once the strobe has proven the base timing: at the fitting stage it waits for nobody."""

CLAMP_MARK = "clamp-mark"

# An item, and the reading of the record that has to be there before it.
COMES_AFTER = {CLAMP_MARK: "clamp-proven"}
