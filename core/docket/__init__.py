"""What is stored of one distributor: immutable records, nothing computed.

One module a group of things the hands meet together; :mod:`core.docket.docket` holds the whole,
:mod:`core.docket.file` writes and reads it, :mod:`core.docket.schema` publishes its shape.
"""
