# Colebrook-White solved in 50-digit decimal arithmetic, for friction_test.go.
# Python 3 standard library only. Output: re, k/D, f.
from decimal import Decimal as D, getcontext
getcontext().prec = 50
ln10 = D(10).ln()
def solve(re, k):
    a, b = D(k) / D("3.7"), D("2.51") / D(re)
    x = D(8)
    for _ in range(60):  # Newton
        y = a + b * x
        x -= (x + 2 * y.ln() / ln10) / (1 + 2 * b / y / ln10)
    return 1 / (x * x)
for re in (4000, 5000, 10000, 31623, 100000, 1000000, 12345678, 100000000):
    for k in (0, 2.0**-20, 2.0**-13, 2.0**-10, 2.0**-7, 0.05):
        print(f"{{{re}, {k!r}, {float(solve(re, k))!r}}},")
