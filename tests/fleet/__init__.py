"""Many sites checked in pieces and on several processors."""
