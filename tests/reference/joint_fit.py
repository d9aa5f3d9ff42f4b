"""The extra resistance of a phase between source and meter, by the page of `explain high-resistance-joint`."""

import math

import numpy as np

from recompute_energy import FRAMES

WEEK_S = 604_800
CONTRASTS = np.array([[2, -1, -1], [0, 3**0.5, -(3**0.5)]]) / 6**0.5

# Deviation of a normal distribution over the median magnitude.
SPREAD = 1.482602218505602


class Joint:
    """Huber's fit of changes of two contrasts of the phase voltages on those of the currents.

    Written from what `explain high-resistance-joint` says; small corrections of the second order are left out."""

    # How large impedances may be: what the lines and the neutral share, and by how much reactances differ. (ohm)
    EXPECTED = {0: 0.1, 1: 0.1, 2: 0.1, 3: 0.1, 5: 0.1, 6: 0.000577, 7: 0.000577}

    def __init__(self, log, volts, currents):
        self.starts = log.starts
        self.middle_s = log.from_s + (log.to_s - log.from_s) / 2
        self.weeks = (log.to_s - log.from_s) / WEEK_S
        when = (log.starts + log.interval_s / 2 - self.middle_s) / WEEK_S
        neutral = (FRAMES * currents).sum(axis=0) / FRAMES
        near = np.flatnonzero(np.diff(log.starts) == log.interval_s)

        def contrast(values):
            return np.array([np.diff(weights @ values)[near] for weights in CONTRASTS])

        columns = [
            contrast(values)
            for values in (
                -currents.real,
                currents.imag,
                -neutral.real,
                neutral.imag,
                -currents.real * when,
                -neutral.real * when,
            )
        ]
        for values in (currents.imag, -currents.real, -currents.real * when):
            columns += [contrast(weights[:, None] * values) for weights in CONTRASTS]
        columns, left = np.array(columns), contrast(volts)
        follows = np.append(False, np.diff(near) == 1)
        self.fit_moved(columns, left, near, np.arange(len(near)))
        misfits = left - np.einsum("ckr,c->kr", columns, self.coefficients)
        limits = np.maximum(SPREAD * np.median(np.abs(misfits), axis=1), self.deviation)[:, None]
        absurd = (np.abs(misfits) > 8 * limits).any(axis=0)
        self.changes, self.set_aside = (~absurd).sum(), absurd.sum()
        goes_on = follows & ~np.append(True, absurd[:-1])
        theta = self.share(np.clip(misfits, -2 * limits, 2 * limits), goes_on & ~absurd)
        for row in np.flatnonzero(goes_on):
            columns[:, :, row] += theta * columns[:, :, row - 1]
            left[:, row] += theta * left[:, row - 1]
        self.fit_moved(columns, left, near, np.flatnonzero(~absurd))

    @staticmethod
    def share(misfits, pairs):
        """The moving average whose neighbours are correlated as these misfits."""
        after = misfits[:, pairs]
        before = misfits[:, np.flatnonzero(pairs) - 1]
        correlation = 2 * (after * before).sum() / (after**2 + before**2).sum()
        if correlation >= 0:
            return 0
        return min((1 - math.sqrt(max(1 - 4 * correlation**2, 0))) / (-2 * correlation), 0.7)

    def fit_moved(self, columns, left, near, of):
        """Fits the largest movements of these changes until their squares make 95 % of all."""
        movement = (columns[8:10][:, :, of] ** 2).sum(axis=(0, 1))
        falling = np.argsort(-movement, kind="stable")
        count = np.searchsorted(np.cumsum(movement[falling]), 0.95 * movement.sum()) + 1
        rows = of[np.sort(falling[:count])]
        self.order = near[rows]
        self.columns, self.left = columns[:, :, rows], left[:, rows]
        self.fit()

    def fit(self):
        matrix, left = self.columns.reshape(len(self.columns), -1).T, self.left.ravel()

        def spread(values):
            """Deviation of a normal distribution by the median magnitude."""
            return SPREAD * np.median(np.abs(values))

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
        self.line_ohm, self.neutral_ohm = (max(self.coefficients[column], 0) for column in (0, 2))

    def figure(self, phase, level, growth):
        asked = np.zeros(len(self.coefficients))
        asked[8:10], asked[10:12] = 1.5 * CONTRASTS[:, phase] * level, 1.5 * CONTRASTS[:, phase] * growth
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
