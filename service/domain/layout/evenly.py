"""Even division of counts."""


def spread(total: int, parts: int) -> tuple[int, ...]:
    """Divide a count into parts that differ by at most one, mirrored where that can be.

    Example:
        >>> spread(5, 3), spread(7, 3), spread(7, 2)
        ((2, 1, 2), (2, 3, 2), (4, 3))
    """
    small, large = divmod(total, parts)
    sizes = [small] * parts
    middle = (parts - 1) / 2
    if large % 2 == parts % 2 == 1:
        order = sorted(range(parts), key=lambda i: (abs(i - middle), i))  # from the middle out
    else:
        order = sorted(range(parts), key=lambda i: (-abs(i - middle), i))  # from the ends in
    for i in order[:large]:
        sizes[i] += 1
    return tuple(sizes)
