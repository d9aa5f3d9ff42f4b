-- Problems found in the data, by kind.
SELECT level, kind, count(DISTINCT site) AS sites, sum(count) AS count
FROM problems
GROUP BY level, kind
ORDER BY sites DESC, kind, level
