"""``python -m cardgen``."""

from cardgen.cli import main

if __name__ == "__main__":
    main()
