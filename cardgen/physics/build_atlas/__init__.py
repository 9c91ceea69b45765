"""The builder of the pin-action atlas, a tool for developers: pip extra ``atlas``.

Nothing else in the program imports it, and nothing in it runs when cards are made.
"""
