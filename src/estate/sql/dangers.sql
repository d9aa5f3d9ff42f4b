-- Dangers that are not accepted: who has to act first.
SELECT site, kind, node, phase, summary, action
FROM findings
WHERE severity = 'danger' AND NOT accepted
ORDER BY site, kind, node, phase
