"""Close-up optics as pure functions on numbers: no files, no clock, no camera.

In reading order: `closeup` (distances, effective f-number), `framing` (field, pixels on the piece),
`circle` (how much blur is allowed), `arrangement` (tubes, close-up lens, converter, reversed, stacked),
`depth` (near and far limits), `diffraction` and `aperture` (what small openings cost, the best one),
`steps` (focus series), `sharpness` (depth and frames by wave optics), `fresnel` and `plate` (axial light through
glass), `vibration` (shake).

Lengths are in mm unless the name says otherwise. Magnification m is image height / object height and
counted positive. Distances to the piece are positive from the lens towards the piece.
"""
