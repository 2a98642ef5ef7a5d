"""`tapeside desk`"""

import socket

import click

from notes.commands.common import home_of
from notes.errors import TapesideError

PORT = 8537


@click.command(name="desk")
@click.option("--port", type=click.IntRange(1, 65_535), default=PORT, show_default=True, help="Port on 127.0.0.1.")
@click.pass_context
def command(ctx: click.Context, port: int) -> None:
    """Open the review desk: narrate, read back, correct, all in the browser on this machine.

    \b
    Example: tapeside desk
    """
    try:
        import uvicorn

        from notes.desk.app import make_app
        from notes.desk.security import Keys
    except ModuleNotFoundError as error:
        raise TapesideError(f"The desk needs {error.name}; install it with: pip install 'tapeside[desk]'") from None
    keys = Keys()
    app = make_app(home_of(ctx), keys, port)
    with socket.socket() as taken:
        taken.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            taken.bind(("127.0.0.1", port))
            taken.listen()
        except OSError as error:
            raise TapesideError(
                f"Port {port} cannot be used ({error.strerror}); is a desk open already? Choose another with --port"
            ) from None
        click.echo(f"The desk is open: http://127.0.0.1:{port}/?key={keys.entry}\nCtrl-C closes it.")
        config = uvicorn.Config(
            app, access_log=False, log_level="warning", server_header=False, timeout_graceful_shutdown=2
        )
        uvicorn.Server(config).run(sockets=[taken])
