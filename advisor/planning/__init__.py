"""From an angle, a finish and a kit to steps at the bench: progression, removal, stropping."""
