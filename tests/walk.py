"""The app's addresses, as its routers have them."""

from fastapi.routing import APIRoute

from meetapp.web.routes import all_routers


def routes() -> list[APIRoute]:
    """Every route of the app but the static files, in order of its address."""
    found = [route for router in all_routers() for route in router.routes if isinstance(route, APIRoute)]
    return sorted(found, key=lambda route: route.path)


def addresses(method: str) -> list[str]:
    """Every address that takes this method, with its braces."""
    return [route.path for route in routes() if method in route.methods]
