"""Small dense symmetric systems, the square root (Cholesky) way.

Only + - * / and square roots, so that every machine agrees to the last bit.
"""

import math


def zeros(rows, columns):
    """A matrix of zeros as a list of rows."""
    return [[0.0 for _ in range(columns)] for _ in range(rows)]


def root(matrix):
    """Lower triangle L with L·Lᵀ = matrix (n × n, symmetric; its lower half is read).

    Raises ValueError unless it is positive definite.
    """
    n = len(matrix)
    low = zeros(n, n)
    for i in range(n):
        own = low[i]
        for j in range(i + 1):
            other = low[j]
            total = matrix[i][j]
            for k in range(j):
                total = total - own[k] * other[k]
            if i == j:
                if total <= 0:
                    raise ValueError("not positive definite")
                own[i] = math.sqrt(total)
            else:
                own[j] = total / other[j]
    return low


def forward(low, right):
    """y with L·y = right: the half of `solve` that a variance needs, since rᵀ·N⁻¹·r = yᵀ·y."""
    n = len(low)
    y = [0.0 for _ in range(n)]
    first = n  # y is nothing before the first number of the right side that is not 0
    for i in range(n):
        if first == n and right[i] != 0.0:
            first = i
        if i >= first:
            row = low[i]
            total = right[i]
            for k in range(first, i):
                total = total - row[k] * y[k]
            y[i] = total / row[i]
    return y


def solve(low, right):
    """x with L·Lᵀ·x = right, from the root L (n × n) and a list of n numbers."""
    n = len(low)
    x = forward(low, right)
    for step in range(n):
        i = n - 1 - step
        total = x[i]
        for k in range(i + 1, n):
            total = total - low[k][i] * x[k]
        x[i] = total / low[i][i]
    return x


def dot(a, b):
    """Sum of products of two lists of the same length."""
    total = 0.0
    for i in range(len(a)):
        total = total + a[i] * b[i]
    return total
