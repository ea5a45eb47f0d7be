#!/usr/bin/python3
"""Writes tests/outside/sun_values.txt: sunrise and sunset by PyEphem (XEphem's libastro).

Debian's python3-ephem; only needed to write the file anew: sun_values.py > sun_values.txt
Each line: day, latitude, longitude (degrees, east positive), sunrise and sunset in minutes after
00:00 UTC of that day, or - where the sun does not cross the horizon. As the printed almanacs define
it: upper limb, refraction of 34 minutes of arc at the horizon, sea level.
"""
import math

import ephem

places = [(51.5, -0.13), (52.1, 10.4), (40.0, -4.0), (60.2, 24.9), (0.0, 9.0), (-34.6, 20.0),
          (69.7, 18.9)]
days = ["2024-02-29", "2025-06-21", "2025-12-21", "2026-03-20", "2026-05-16", "2026-09-23",
        "2026-11-26", "2031-10-05"]

print("# PyEphem", ephem.__version__)
for latitude, longitude in places:
    for day in days:
        place = ephem.Observer()
        place.lat, place.lon = math.radians(latitude), math.radians(longitude)
        place.pressure, place.horizon = 0, "-0:34"
        midnight = ephem.Date(day.replace("-", "/"))
        place.date = midnight
        times = []
        for find in (place.next_rising, place.next_setting):
            try:
                times.append(f"{(find(ephem.Sun()) - midnight) * 1440.0:.2f}")
            except ephem.CircumpolarError:
                times.append("-")
        print(day, latitude, longitude, *times)
