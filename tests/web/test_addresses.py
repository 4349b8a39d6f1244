"""Every address is answered by its own route, in whatever order the routers are looked through."""

import re

from fastapi.routing import APIRoute
from starlette.routing import Match

from meetapp.web.routes import all_routers


def test_no_route_stands_in_front_of_another_ones_address() -> None:
    routes = [route for router in all_routers() for route in router.routes if isinstance(route, APIRoute)]
    for route in routes:
        path = re.sub(r"{\w+}", "7", route.path)
        for method in route.methods:
            asked = {"type": "http", "path": path, "method": method}
            first = next(each for each in routes if each.matches(asked)[0] is Match.FULL)
            assert first is route, f"{method} {path}"
