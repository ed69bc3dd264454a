"""Pure computation: values in, one result object out, with a status, reasons and the inputs it used.

Nothing here reads a file, a clock or a widget; `today` is always an argument.
"""
