"""Where everything on the signal board is drawn: castings, spaces, routes and the places of symbols."""
