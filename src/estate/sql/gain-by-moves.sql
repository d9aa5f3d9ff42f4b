-- Sites by what the recommended moves take off the neutral [A, rms].
SELECT site, recommended_moves, neutral_rms_a, neutral_after_recommended_a,
       neutral_rms_a - neutral_after_recommended_a AS gain_a
FROM sites
WHERE recommended_moves > 0 AND neutral_rms_a IS NOT NULL
ORDER BY gain_a DESC, site
