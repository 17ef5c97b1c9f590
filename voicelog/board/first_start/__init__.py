"""The first start: microphone, rehearsal, region and units, rate card, one after the other."""
