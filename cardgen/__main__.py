"""Where the program begins: ``cardgen`` and ``python -m cardgen``."""

import signal


def main() -> None:
    """Run the command line and exit; see ``cardgen.cli.main``.

    Until that listens for it, and once it is done, a Ctrl-C ends the process at once: as an
    exception it would come while Python begins or ends, and be printed. There is nothing then that
    would have to be undone.
    """
    ours = signal.getsignal(signal.SIGINT) is signal.default_int_handler
    try:
        if ours:
            signal.signal(signal.SIGINT, signal.SIG_DFL)
        from cardgen.cli import main as run

        run()
    finally:
        if ours:
            signal.signal(signal.SIGINT, signal.SIG_DFL)


if __name__ == "__main__":
    main()
