"""A user's script with five mistakes, each of which the type checker must find: ``mypy --strict``; never run."""

import gearsearch as gs

shop = gs.demo()
answer = shop.find("412.5 mm", hand="right", count=5)
shop.find("412.5 mm", hnd="right")  # mistake: no such parameter
shop.find("412.5 mm", hand="rigth")  # mistake: no such hand
shop.check("80/44 48/100", length=["60 mm"])  # mistake: a list is no length
gs.helix_angle("17°45'")  # mistake: an angle without its diameter
print(answer.fit.train)  # mistake: the answer of find has fits
