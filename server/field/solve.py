"""Small dense symmetric systems, the square root (Cholesky) way.

Only + - * / and square roots, so that every machine agrees to the last bit.
"""

import math


def zeros(rows, columns):
    """A matrix of zeros as a list of rows."""
    return [[0.0 for _ in range(columns)] for _ in range(rows)]


def root(matrix):
    """Lower triangle L with L·Lᵀ = matrix (n × n, symmetric). Raises ValueError unless it is positive definite."""
    n = len(matrix)
    low = zeros(n, n)
    for i in range(n):
        for j in range(i + 1):
            total = matrix[i][j]
            for k in range(j):
                total = total - low[i][k] * low[j][k]
            if i == j:
                if total <= 0:
                    raise ValueError("not positive definite")
                low[i][i] = math.sqrt(total)
            else:
                low[i][j] = total / low[j][j]
    return low


def forward(low, right):
    """y with L·y = right: the half of `solve` that a variance needs, since rᵀ·N⁻¹·r = yᵀ·y."""
    n = len(low)
    y = [0.0 for _ in range(n)]
    for i in range(n):
        total = right[i]
        for k in range(i):
            total = total - low[i][k] * y[k]
        y[i] = total / low[i][i]
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
