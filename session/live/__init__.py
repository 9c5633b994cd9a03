"""Instruments for the two moments that decide a frame: focusing by hand, and nothing moving. No screen here.

1. `decode`       a live JPEG as a grey picture, and what is wrong with the stream: lost, frozen, black, slow
2. `contrast`     the number that rises as focus nears; `cover` tells when a hand hides the region
3. `meter`        that number over time: best so far, trend, past the best
4. `motion`       where the picture went since a key picture, to a hundredth of a pixel
5. `stillness`    whether it has been still for long enough
6. `peak`, `sweep`  focusing by the camera's own drive: the plan step by step, and the fit between the steps;
                  `drive_sweep` looks at the drive itself, from both sides
7. `against`      what is still to correct against the reference: shift, turn, scale, in words for the hands
8. `instruments`  all of them behind one call for each frame

Shifts say where the picture's content went, + right and + down. Live px are the pixels of the live frame as it
came, sensor px those of the full-size picture. Time is handed in as `Clock.monotonic_s`; nothing here waits.
"""
