"""The pages of Tiltbook: a view reads the request, makes one call, and renders.

Every module here with a `blueprint` is a room of pages and is found by itself (bench.app).
"""
