-- The portfolio's bill by currency and line.
SELECT currency, line, unit, sum(quantity) AS quantity, sum(amount) AS amount, count(DISTINCT site) AS sites
FROM bills
GROUP BY currency, line, unit
ORDER BY currency, line, unit
