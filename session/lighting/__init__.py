"""Flash and ambient light as pure functions on numbers: no files, no clock, no camera.

In reading order: `flash` (guide number, power, recycling),
`source` (large sources near the piece), `mix` (several lights, reflector, ambient), `duration` (t0.5 and
t0.1), `sync` (what the shutter cuts), `mirror` (shiny pieces), `cautions`.

Light is counted in stops (EV), more light positive; a name that ends in `loss_ev` counts what is lost,
positive. Distances are in mm; guide numbers in metres at ISO 100, as they are printed on the flash.
"""
