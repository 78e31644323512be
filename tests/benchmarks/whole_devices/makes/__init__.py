"""The devices, one file each: the note that a repairer writes, the nets' names, and what is really in the
case.
"""
