"""The course in JupyterLab: settings, start page, forms, opening, saving, handing in."""


def _jupyter_server_extension_points() -> list[dict[str, str]]:
    return [{"module": "refinishlib.course.lab.server"}]
