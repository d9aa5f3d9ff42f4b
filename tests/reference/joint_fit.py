"""The extra resistance of a phase between source and meter, by the page of `explain high-resistance-joint`."""

import math

import numpy as np

from recompute_energy import FRAMES

WEEK_S = 604_800
CONTRASTS = np.array([[2, -1, -1], [0, 3**0.5, -(3**0.5)]]) / 6**0.5


class Joint:
    """Huber's fit of changes of two contrasts of the phase voltages on those of the currents.

    Written from what `explain high-resistance-joint` says; small corrections of the second order are left out."""

    # How large impedances may be: what the lines and the neutral share, and by how much reactances differ. (ohm)
    EXPECTED = {0: 0.1, 1: 0.1, 2: 0.1, 3: 0.1, 5: 0.000577, 6: 0.000577}

    def __init__(self, log, volts, currents):
        self.starts = log.starts
        self.middle_s = log.from_s + (log.to_s - log.from_s) / 2
        self.weeks = (log.to_s - log.from_s) / WEEK_S
        when = (log.starts + log.interval_s / 2 - self.middle_s) / WEEK_S
        neutral = (FRAMES * currents).sum(axis=0) / FRAMES
        near = np.flatnonzero(np.diff(log.starts) == log.interval_s)
        self.changes = len(near)

        def contrast(values):
            return np.array([np.diff(weights @ values)[near] for weights in CONTRASTS])

        columns = [
            contrast(values)
            for values in (-currents.real, currents.imag, -neutral.real, neutral.imag, -currents.real * when)
        ]
        for values in (currents.imag, -currents.real, -currents.real * when):
            columns += [contrast(weights[:, None] * values) for weights in CONTRASTS]
        # The largest movements until their squares make 95 % of all.
        movement = (np.array(columns[7:9]) ** 2).sum(axis=(0, 1))
        falling = np.argsort(-movement, kind="stable")
        count = np.searchsorted(np.cumsum(movement[falling]), 0.95 * movement.sum()) + 1
        rows = np.sort(falling[:count])
        self.rows, self.order = rows, near[rows]
        self.columns = np.array([column[:, rows] for column in columns])
        self.left = contrast(volts)[:, rows]
        self.fit()

    def fit(self):
        matrix, left = self.columns.reshape(len(self.columns), -1).T, self.left.ravel()

        def spread(values):
            """Deviation of a normal distribution by the median magnitude."""
            return 1.482602218505602 * np.median(np.abs(values))

        deviation, weights = spread(left), np.ones(len(left))
        for _ in range(5):
            prior = np.zeros((len(self.EXPECTED), matrix.shape[1]))
            for row, (column, ohm) in enumerate(self.EXPECTED.items()):
                prior[row, column] = deviation / ohm
            weighted = np.vstack([matrix * weights[:, None], prior])
            self.coefficients = np.linalg.lstsq(weighted, np.append(left * weights, np.zeros(len(self.EXPECTED))), rcond=None)[0]
            surprises = left - matrix @ self.coefficients
            self.covariance = np.linalg.inv(weighted.T @ weighted)
            deviation = spread(surprises)
            weights = np.sqrt(np.minimum(2 * deviation / np.abs(surprises), 1))
        self.deviation, self.surprises = deviation, surprises.reshape(self.left.shape)
        self.correction = (weights**2).sum() / (weights >= 1).sum()
        self.line_ohm = max(self.coefficients[0], 0)

    def figure(self, phase, level, growth):
        asked = np.zeros(len(self.coefficients))
        asked[7:9], asked[9:11] = 1.5 * CONTRASTS[:, phase] * level, 1.5 * CONTRASTS[:, phase] * growth
        influence = self.covariance @ asked
        pull = np.einsum("ckr,c->kr", self.columns, influence)
        limited = np.clip(self.surprises, -2 * self.deviation, 2 * self.deviation)
        scores, shares = (pull * limited).sum(axis=0), (pull**2).sum(axis=0)
        count = limited.size
        small = count / (count - len(asked))
        independent = small * np.mean(limited**2) * shares.sum()
        dependent = small * self.newey_west(scores)
        assumed = sum((influence[column] * self.deviation**2 / ohm) ** 2 for column, ohm in self.EXPECTED.items())
        error = self.correction * math.sqrt(max(independent, dependent) + assumed)
        return asked @ self.coefficients, error, self.freedom(shares)

    def newey_west(self, scores):
        """Scores of changes up to some lag apart, with weights that fall evenly."""
        series = np.zeros(self.order[-1] + 1)
        series[self.order] = scores
        lags = int(4 * (len(scores) / 100) ** (2 / 9))
        total = (series**2).sum()
        for lag in range(1, lags + 1):
            total += 2 * (1 - lag / (lags + 1)) * (series[lag:] * series[:-lag]).sum()
        return total

    def freedom(self, shares):
        """Satterthwaite, over events of half an hour's readings."""
        events = np.bincount(self.order // 30, shares)
        return events.sum() ** 2 / (events**2).sum()
