"""Pure physical laws, one subject a file: SI units, absolute pressure, kelvin, scalar floats."""
